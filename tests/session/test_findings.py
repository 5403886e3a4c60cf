"""Findings survive being written as JSON and read back."""

import json

import pytest
from pydantic import ValidationError

from companion.session.findings import Finding, Heard, Judgement, Mark, judgement_from_json, judgement_to_json

HEARD = Heard(text="i put on gloves", at_ms=4000, until_ms=5500, n=3)


def judgement() -> Judgement:
    late = Finding(
        kind="out of order",
        step="gloves",
        title="Gloves",
        critical=True,
        reason="Gloves were put on before the hands were clean.",
        effect="gloves go on clean hands",
        needed="hands",
        heard=(HEARD,),
        at_ms=4000,
    )
    gone = Finding(kind="omitted", step="expiry", title="Expiry", reason="It was not said.")
    mark = Mark(step="gloves", title="Gloves", critical=True, heard=HEARD, at_ms=4000)
    return Judgement(
        help="none",
        passed=False,
        marks=(mark,),
        findings=(late, gone),
        expected=("hands", "gloves", "expiry"),
        took_ms=9000,
    )


def test_a_judgement_is_read_back_as_it_was_written() -> None:
    """RFC 8785 is checked by the record's own tests; here: nothing is lost between the model and JSON text."""
    written = json.dumps(judgement_to_json(judgement()))
    assert judgement_from_json(json.loads(written)) == judgement()


def test_the_findings_of_one_step() -> None:
    assert [finding.kind for finding in judgement().of("gloves")] == ["out of order"]
    assert judgement().of("hands") == ()


def test_what_is_no_judgement_is_refused() -> None:
    body = judgement_to_json(judgement())
    with pytest.raises(ValidationError):
        judgement_from_json(body | {"help": "some"})
    with pytest.raises(ValidationError):
        judgement_from_json(body | {"mystery": 1})
