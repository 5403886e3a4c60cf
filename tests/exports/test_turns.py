"""Sessions that did not go straight: a step left out, an interruption, a step done again, words that were not taken."""

from pathlib import Path

import pytest

from companion.errors import UsageError
from companion.exports.formats import FORMATS
from companion.exports.source import Source
from companion.exports.tables import rows
from companion.exports.xapi import statements
from companion.procedure.loading import load
from companion.session.events import Opened
from tests.conversation.rig import DRILL
from tests.exports.making import INSULIN, PROCEDURES, drill, source, walked
from tests.procedures.walking import walk


@pytest.fixture(scope="module")
def turns(tmp_path_factory: pytest.TempPathFactory) -> Source:
    """Interrupted at the glucose, and the figures of the double check differed at first."""
    loaded = load(PROCEDURES / "subcutaneous-insulin.yaml")
    differing = ("eighty one units", "eighteen units")
    going = walk(loaded.procedure, {**INSULIN, "double-check": differing}, to="glucose")
    going.walker.interrupt()
    going.say("still valid").to_end()
    return source(walked(tmp_path_factory.mktemp("turns"), going, loaded))


def test_going_on_is_told(turns: Source) -> None:
    told = statements(turns)
    resumed = [one for one in told if one["verb"]["id"].endswith("/resumed")]
    assert len(resumed) == 1
    times = [one["timestamp"] for one in told]
    assert times == sorted(times)


def test_a_step_done_again_is_told_as_it_stands(turns: Source) -> None:
    assert len([moment for moment in turns.told.moments if isinstance(moment.event, Opened)]) == 2
    made = [row for row in rows(turns) if row.step == "volume"]
    assert [(row.value, row.unit) for row in made] == [("18", "units")]
    assert any(row.note == "in figures-disagree" for row in rows(turns))
    ids = [one["id"] for one in statements(turns)]
    assert len(set(ids)) == len(ids)


def test_a_step_left_out_is_skipped(tmp_path: Path) -> None:
    loaded = load(DRILL)
    going = walk(loaded.procedure, {"ordered": "eighteen units"}, to="tidy").say("leave it out").to_end()
    left = source(walked(tmp_path, going, loaded))
    (row,) = (row for row in rows(left) if row.step == "tidy")
    assert row.note == "left out"
    (told,) = (one for one in statements(left) if one["object"]["id"].endswith("/tidy"))
    assert told["verb"]["id"] == "http://id.tincanapi.com/verb/skipped"
    assert told["result"]["completion"] is False and "response" not in told["result"]


def test_what_was_typed_and_not_taken_stands_nowhere(tmp_path: Path) -> None:
    """A name typed by mistake is answered on the screen; neither the record nor any export holds it."""
    with pytest.raises(UsageError, match="the input ended"):
        drill(tmp_path, ["rub is in", "Avery Example born 4 May 1950", "avery example"], close=False)
    (path,) = (tmp_path / "records").glob("*.jsonl")
    left = [path.read_bytes(), *(each.make([source(path)]) for each in FORMATS.values())]
    assert not [word for word in (b"avery", b"1950", b"4 may") for data in left if word in data.lower()]
    assert b"rub is in" in left[0]
