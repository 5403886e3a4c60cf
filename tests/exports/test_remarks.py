"""Educators' remarks as xAPI statements (verb `commented`, ADL's vocabulary), held against ralph-malph's models."""

import importlib.util
import json
from pathlib import Path
from typing import Any

import pytest

from companion.clocks import SimulatedClock
from companion.exports.formats import FORMATS
from companion.exports.source import load_source
from companion.exports.xapi import statements, to_xapi
from companion.record.keys import key_id
from companion.review.marks import marks_from
from companion.review.marks_file import marks_path, save_marks
from tests.exports.making import START, insulin
from tests.realparts import need
from tests.record.making import key

ITEMS = [{"step": "identify", "mark": "done", "remark": "Looked at the band, not the chart."}, {"step": "hands"}]


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return insulin(tmp_path)


def mark(path: Path, seed: int = 7, **more: Any) -> None:
    given = {"marker": "63", "items": ITEMS, "rating": 3, "remark": "Calm, and in order.", **more}
    save_marks(load_source(path).record, marks_from(given), 0, SimulatedClock(START), key(seed))


def comments(path: Path) -> list[dict[str, Any]]:
    made: list[dict[str, Any]] = json.loads(to_xapi(load_source(path, {key().public})))
    return [each for each in made if each["verb"]["id"].endswith("/commented")]


def test_each_remark_is_a_statement_of_the_marker(record: Path) -> None:
    need(importlib.util.find_spec("ralph") is not None, "ralph-malph is missing: pip install ralph-malph")
    from ralph.models.xapi.base.statements import BaseXapiStatement

    before = statements(load_source(record, {key().public}))
    mark(record)
    made = comments(record)
    for each in made:
        BaseXapiStatement.model_validate(each)
    assert [each["result"]["response"] for each in made] == [ITEMS[0]["remark"], "Calm, and in order."]
    assert made[0]["verb"]["id"] == "http://adlnet.gov/expapi/verbs/commented"
    assert made[0]["object"]["id"].endswith("/steps/identify")
    assert made[1]["object"]["id"] == before[0]["object"]["id"]
    assert {each["actor"]["account"]["name"] for each in made} == {"63"}
    assert {each["context"]["registration"] for each in made} == {before[0]["context"]["registration"]}
    assert made == comments(record), "the same again when it is exported again"
    assert len({each["id"] for each in [*before, *made]}) == len(before) + 2
    assert statements(load_source(record, {key().public}))[: len(before)] == before, "nothing else changes"


def test_marks_of_an_unknown_key_or_changed_ones_are_left_out_and_named(record: Path) -> None:
    mark(record, seed=9)
    found = load_source(record, {key().public})
    assert found.marks == () and "unknown key" in found.left_out[0]
    told = f"Left out: marks by 63, signed with the unknown key {key_id(key(9).public)}."
    for name in ("captions", "chapters", "fhir-r4b", "fhir-r5", "summary"):
        assert told.encode() in FORMATS[name].make([found]), name
    path = marks_path(record, "63")
    path.write_bytes(path.read_bytes().replace(b"Calm", b"calm"))
    assert "signature is wrong" in load_source(record).left_out[0]
    assert comments(record) == []
