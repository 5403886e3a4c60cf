"""Statements held against an xAPI model library (ralph-malph) and the specification: xAPI 1.0.3, part two."""

import importlib.util
import json
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from companion.errors import UsageError
from companion.exports.names import iso_duration
from companion.exports.source import Source, load_source
from companion.exports.xapi import Judgement, statements, to_xapi
from companion.procedure.kinds.identification import IdentificationStep
from tests.realparts import need


@pytest.fixture
def model() -> Any:
    need(importlib.util.find_spec("ralph") is not None, "ralph-malph is missing: pip install ralph-malph")
    from ralph.models.xapi.base.statements import BaseXapiStatement

    return BaseXapiStatement


def verbs(made: list[dict[str, Any]]) -> list[str]:
    return [statement["verb"]["id"].rsplit("/", 1)[1] for statement in made]


def test_every_statement_is_valid(each: Source, model: Any) -> None:
    made = json.loads(to_xapi(each))
    assert made
    for statement in made:
        model.model_validate(statement)


def test_the_library_does_refuse(made: Callable[[str], Source], model: Any) -> None:
    good = json.loads(to_xapi(made("insulin")))[1]
    for path, wrong in [("id", "7"), ("version", "2.0"), ("actor", {"name": "x"})]:
        with pytest.raises(ValueError, match=path):
            model.model_validate({**good, path: wrong})
    with pytest.raises(ValueError, match="duration"):
        model.model_validate({**good, "result": {"duration": "20 seconds"}})


def test_what_happened_is_what_is_told(made: Callable[[str], Source]) -> None:
    told = made("insulin").told
    whole = statements(made("insulin"))
    assert verbs(whole) == ["initialized", *["answered"] * len(told.confirmed), "answered", "completed"]
    assert whole[-1]["result"]["completion"] is True
    refused = statements(made("refused"))
    assert verbs(refused)[-1] == "abandoned" and "completed" not in verbs(refused)
    assert refused[-1]["result"]["completion"] is False
    assert made("refused").told.state.outcome in refused[-1]["result"]["extensions"].values()
    assert set(verbs(statements(made("open")))) == {"initialized", "answered"}


def test_nobody_can_be_known_by_it(each: Source) -> None:
    for statement in statements(each):
        assert set(statement["actor"]) == {"objectType", "account"}
        assert statement["actor"]["account"]["name"] == "41"
    text = to_xapi(each).decode()
    assert "mbox" not in text and "mailto" not in text


def test_ids_are_fixed_when_the_entry_is_written(made: Callable[[str], Source], tmp_path: Path) -> None:
    """The first lines of a record are the record as it was then."""
    whole = made("insulin")
    ids = [statement["id"] for statement in statements(whole)]
    assert len(set(ids)) == len(ids)
    assert {uuid.UUID(name).version for name in ids} == {5}
    assert to_xapi(load_source(whole.record.path)) == to_xapi(whole)
    then = tmp_path / "then.jsonl"
    then.write_bytes(b"".join(whole.record.path.read_bytes().splitlines(keepends=True)[:50]))
    earlier = statements(load_source(then))
    assert 20 < len(earlier) < len(ids)
    assert earlier == statements(whole)[: len(earlier)]


def test_durations_are_those_of_the_timeline(made: Callable[[str], Source], model: Any) -> None:
    told = made("drill").told
    took = [model.model_validate(one).result.duration for one in json.loads(to_xapi(made("drill")))[1:-2]]
    assert took == [timedelta(milliseconds=done.took_ms) for done in told.confirmed]


@pytest.mark.parametrize(
    ("ms", "written"),
    [(0, "PT0S"), (4, "PT0S"), (1230, "PT1.23S"), (20_500, "PT20.5S"), (59_999, "PT1M0S"), (3_725_000, "PT1H2M5S")],
)
def test_durations_in_hundredths(ms: int, written: str) -> None:
    """Part two, 4.6: ISO 8601, a precision of at most 0.01 seconds."""
    assert iso_duration(ms) == written


def test_performance_and_sequencing(made: Callable[[str], Source]) -> None:
    """Formats of part two, appendix C: `id[.]response` joined by `[,]`, and ids joined by `[,]`."""
    source = made("insulin")
    by_id = {one["object"]["id"].rsplit("/", 1)[1]: one for one in statements(source)}
    identify = source.told.procedure.step("identify")
    assert isinstance(identify, IdentificationStep)
    assert by_id["identify"]["result"]["response"] == "name[.]name matches[,]birth[.]birth date matches"
    asked = [part["id"] for part in by_id["identify"]["object"]["definition"]["steps"]]
    assert asked == [item.id for item in identify.items[: identify.count]]
    assert by_id["volume"]["result"]["response"] == "volume[.]18 units"
    order = statements(source)[-2]
    assert order["object"]["definition"]["interactionType"] == "sequencing"
    choices = {choice["id"] for choice in order["object"]["definition"]["choices"]}
    said = order["result"]["response"].split("[,]")
    assert said == [done.step for done in source.told.confirmed]
    assert set(said) <= choices


def test_the_clock_is_the_record_s(each: Source) -> None:
    times = [datetime.fromisoformat(statement["timestamp"]) for statement in statements(each)]
    assert all(time.tzinfo for time in times)
    assert times == sorted(times)
    assert times[0] == each.opened.when()


def test_a_judgement_is_added(made: Callable[[str], Source], model: Any) -> None:
    plain = statements(made("insulin"))
    passed = json.loads(to_xapi(made("insulin"), Judgement(True, Decimal("0.85"))))
    failed = statements(made("insulin"), Judgement(False, Decimal("-0.1")))
    assert passed[:-1] == json.loads(to_xapi(made("insulin")))
    assert verbs(passed)[-1] == "passed" and verbs(failed)[-1] == "failed"
    assert model.model_validate(passed[-1]).result.score.scaled == Decimal("0.85")
    assert failed[-1]["result"]["success"] is False
    assert passed[-1]["id"] not in {statement["id"] for statement in [*plain, *failed]}
    assert '"scaled": 0.85\n' in to_xapi(made("insulin"), Judgement(True, Decimal("0.85"))).decode()


@pytest.mark.parametrize("score", ["1.01", "-2", "NaN", "Infinity"])
def test_a_score_out_of_range_is_refused(score: str) -> None:
    with pytest.raises(UsageError, match="accepted: -1 to 1"):
        Judgement(True, Decimal(score))


def test_an_unfinished_session_cannot_be_judged(made: Callable[[str], Source]) -> None:
    with pytest.raises(UsageError, match="not ended"):
        statements(made("open"), Judgement(True, Decimal(1)))
