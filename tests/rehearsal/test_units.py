"""A glucose said in mmol/L where the file has mg/dL.

1 mmol/L of glucose is 18.0156 mg/dL (180.156 g/mol, IUPAC's atomic weights), so 7.9 mmol/L is 142 mg/dL.
"""

import pytest

from companion.rehearsal.judging import Rules
from companion.rehearsal.judging.debrief import summary
from companion.session.findings import Judgement
from tests.rehearsal.test_outcome import INSULIN, judged

ONLY = ("glucose",)


def told(text: str, **values: str) -> Judgement:
    judgement = judged(INSULIN, text, rules=Rules(only=ONLY, values=values))
    assert [mark.step for mark in judgement.marks] == list(ONLY)
    return judgement


def test_a_figure_plausible_only_in_the_other_unit_is_unclear_and_tells_what_to_do() -> None:
    """ "Check the blood sugar, it's 7.9" was told as a critical error: "20 to 500 mg/dL is plausible"."""
    assert INSULIN.step("glucose").critical
    judgement = told("check the blood sugar, it's 7.9")
    (finding,) = judgement.findings
    assert (finding.kind, finding.critical) == ("unclear", False)
    assert "7.9 would fit mmol/L" in finding.reason and "--set glucose-unit=mmol/L" in finding.reason
    assert "Say the unit" in finding.reason
    assert judgement.outcome == "undecided", "a critical figure in doubt passes nobody"
    assert "Well done" not in summary(judgement)


@pytest.mark.parametrize("unit", ["mmol/L", "mmol per litre", "millimoles per liter", "millimole per liter", "mmols"])
def test_with_the_unit_said_it_is_judged_in_that_unit(unit: str) -> None:
    assert told(f"check the blood sugar, it's 7.9 {unit}").outcome == "passed"
    assert told(f"check the blood sugar, it's 7.9 {unit}", glucose="142").outcome == "passed"
    wrong = told(f"check the blood sugar, it's 7.9 {unit}", glucose="90")
    assert [(finding.kind, finding.critical) for finding in wrong.findings] == [("wrong value", True)]


@pytest.mark.parametrize(
    ("text", "due"), [("it's 7.9", "90"), ("it's 142", "90"), ("it's 900", None), ("it's 1", None)]
)
def test_what_fits_neither_unit_is_wrong_as_before(text: str, due: str | None) -> None:
    """1 mmol/L is 18 mg/dL, below the file's 20; 900 of either is above any meter."""
    judgement = told(f"check the blood sugar, {text}", **({"glucose": due} if due else {}))
    assert [(finding.kind, finding.critical) for finding in judgement.findings] == [("wrong value", True)]


def test_what_is_due_in_the_other_unit_is_unclear_without_the_unit() -> None:
    (finding,) = told("check the blood sugar, it's 7.9", glucose="142").findings
    assert finding.kind == "unclear"


def test_a_figure_in_the_units_of_the_file_is_taken_as_it_was() -> None:
    assert told("check the blood sugar, it's 142 mg/dL").outcome == "passed"
    assert told("check the blood sugar, it's 142").outcome == "passed"
