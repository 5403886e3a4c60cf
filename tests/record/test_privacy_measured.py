"""How many lines that hold personal matter pass the scan, and how many clinical ones it holds back. Invented lines."""

from tests.bench.privacy import lines, wrong


def test_of_invented_lines_few_pass_and_few_are_held_back_in_vain() -> None:
    """Lines by a hand that knew nothing of the scan, not looked at while it was tuned; tests/bench/privacy.py prints
    each kind. Wanted are 5 in a hundred that enter, and 2 that are held back in vain;
    how near it comes is told in companion/record/README.md."""
    personal, clinical = wrong("measured", "personal"), wrong("measured", "clinical")
    assert len(lines("measured", "personal")) == 300 and len(lines("measured", "clinical")) == 500
    assert len(personal) <= 0.07 * 300
    assert len(clinical) <= 0.035 * 500
