"""A procedure may name the steps that tell of its medicine; what it names must be there and of the right kind."""

from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.procedure.loading import load_text

WHOLE = (Path(__file__).parents[1] / "data" / "whole.yaml").read_text(encoding="utf-8")
GOOD = {"name": "Insulin", "route": "subcutaneous", "dose": "dose", "site": "side", "given": "look"}


def with_medicine(**changes: str) -> str:
    lines = [f"  {key}: {value}\n" for key, value in (GOOD | changes).items()]
    return WHOLE.replace("\nsteps:\n", "\nmedicine:\n" + "".join(lines) + "steps:\n")


def test_a_good_one_is_read() -> None:
    medicine = load_text(with_medicine()).procedure.medicine
    assert medicine is not None
    assert (medicine.dose, medicine.site, medicine.kind) == ("dose", "side", None)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("dose", "nowhere", "the step `nowhere` is no reading of a number; accepted: `dose`, `strength`"),
        ("dose", "side", "the step `side` is no reading of a number"),
        ("site", "dose", "the step `dose` is no reading of a choice; accepted: `side`"),
        ("kind", "begin", "the step `begin` is no reading of a choice"),
        ("given", "tell", "the step `tell` is no main step"),  # it stands in a branch
        ("route", "by-magic", "`by-magic`"),
        ("colour", "red", "colour"),
    ],
)
def test_a_wrong_one_is_named(key: str, value: str, words: str) -> None:
    with pytest.raises(ProcedureError) as caught:
        load_text(with_medicine(**{key: value}))
    assert any(words in fault for fault in caught.value.faults), caught.value.faults
