"""A step that was left out is one fact, told by its note in the record, and every count and export reads it alike."""

from pathlib import Path

import pytest

from companion import places
from companion.exports.source import load_source
from companion.exports.xapi import statements
from companion.record.reader import read_record
from companion.record.trusted import trust
from companion.review.checklist import checklist
from companion.review.cohort import figures
from companion.review.cohort.filters import Filters
from companion.review.course import course_as_told
from companion.review.timeline import timeline
from companion.session.state import LEFT_OUT
from tests.conversation.rig import WHOLE
from tests.exports.making import drill
from tests.review.cohorts import base_of

LEFT = {"tidy": "left out", "press": "left out in bruise"}


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A whole drill in which one step is left out, and one of a branch, signed with a known key."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path / "home"))
    seen = WHOLE.index("nothing to see")
    lines = ["leave it out" if line == "tray is tidy" else line for line in WHOLE[:seen]]
    path = drill(tmp_path, [*lines, "there is bleeding", "leave it out", *WHOLE[seen:]])
    trust(places.keys(), read_record(path).opening["public_key"])
    return path


def test_the_note_alone_tells_it(path: Path) -> None:
    """As in records of before."""
    record = read_record(path)
    assert LEFT_OUT == "left out", "the word that records hold"
    told = [done for entry in record.entries for done in entry.body.get("done", ())]
    assert [done for done in told if done["step"] in LEFT] == [{"step": step, "note": "left out"} for step in LEFT]
    course, folded = course_as_told(record), timeline(record)
    assert course is not None
    assert {each.step for each in course.confirmed if each.left_out} == LEFT.keys()
    assert {each.step: each.note for each in folded.confirmed if each.left_out} == LEFT


def test_the_checklist_the_export_and_the_counts_read_it(path: Path, tmp_path: Path) -> None:
    lines = {line.step: line for line in checklist(timeline(read_record(path)))}
    assert {step: lines[step].program for step in LEFT} == LEFT and not any(lines[step].good for step in LEFT)
    skipped = [one["object"]["id"] for one in statements(load_source(path)) if one["verb"]["id"].endswith("/skipped")]
    assert [each.rsplit("/", 1)[1] for each in skipped] == list(LEFT)
    with base_of(path.parent, tmp_path / "cache") as base:
        found = {each.step: each for each in figures.steps(base, Filters())}
    assert {step for step, each in found.items() if each.missed} == LEFT.keys()
    assert all(found[step].done == 0 and found[step].median_ms is None for step in LEFT)
