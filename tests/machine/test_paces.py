"""Parts told at a pace, times that run again and again, and rounds that are counted. Drill and rules are our own."""

from pathlib import Path

import pytest

from companion.procedure.loading import load
from companion.session.events import Silent
from tests.walk import Walker

PROCEDURE = load(Path(__file__).parent.parent / "data" / "second-look.yaml").procedure
PARTS = ["Palm to palm.", "Between the fingers.", "Around the thumbs."]


@pytest.fixture
def walker() -> Walker:
    walker = Walker(PROCEDURE)
    walker.replies("eighteen units", "exactly right", "clear kind", "exactly right", "five two", "exactly right")
    walker.replies("eighteen units", "exactly right", "clear kind", "exactly right")
    assert walker.step == "motions"
    return walker


def _parts(walker: Walker) -> list[str]:
    return [text for text in walker.heard() if text in PARTS]


def test_parts_are_told_at_the_pace_and_the_reply_comes_last(walker: Walker) -> None:
    walker.wait(0)
    assert _parts(walker) == PARTS[:1]
    walker.wait(4)
    assert _parts(walker) == PARTS[:2]
    walker.reply("all three are rubbed")
    assert walker.texts() == ["Not yet. 1 of 3 parts to go."] and walker.step == "motions"
    walker.wait(8)
    assert _parts(walker) == PARTS and walker.says[-1].text == "Are the motions done?"
    walker.reply("all three are rubbed")
    assert walker.step == "better"


def test_repeat_tells_from_the_first_part_again(walker: Walker) -> None:
    walker.wait(4)
    walker.reply("repeat")
    walker.wait(0)
    assert _parts(walker) == [*PARTS[:2], PARTS[0]]


def test_a_pause_holds_the_parts(walker: Walker) -> None:
    walker.wait(4)
    walker.reply("pause")
    walker.wait(60)
    assert _parts(walker) == PARTS[:2]
    walker.replies("resume", "still valid")
    walker.wait(0)
    assert _parts(walker)[2:] == PARTS[:1]


def test_nobody_is_nudged_while_parts_are_told(walker: Walker) -> None:
    walker.wait(4)
    walker.take(Silent(at_ms=walker.now))
    assert walker.last == ()


def _to_better(walker: Walker) -> None:
    walker.wait(12)
    walker.reply("all three are rubbed")
    assert walker.step == "better"


def test_a_reminder_comes_again_and_again_and_then_the_branch(walker: Walker) -> None:
    """Resuscitation Council UK 2021: adrenaline again after 5 minutes without improvement (from memory)."""
    _to_better(walker)
    again = "Five minutes have gone by. Give it once more."
    for rounds in (1, 2):
        walker.wait(300)
        assert walker.heard().count(again) == rounds and walker.step == "better"
    walker.wait(300)
    assert walker.heard().count(again) == 3 and walker.step == "called"


def test_rounds_go_on_through_a_pause_and_are_told_once(walker: Walker) -> None:
    _to_better(walker)
    walker.reply("pause")
    walker.wait(650)
    walker.replies("resume", "still valid")
    again = "Five minutes have gone by. Give it once more."
    walker.wait(0)
    assert walker.heard().count(again) == 1 and walker.state.here.item == 2


def test_a_branch_is_taken_so_often_and_then_another(walker: Walker) -> None:
    _to_better(walker)
    for _ in range(2):
        walker.reply("it is no better")
        assert walker.step == "give"
        walker.reply("sugar was taken")
    walker.reply("it is no better")
    assert walker.step == "called"
    assert walker.texts()[0] == "Treat once more: that was done 2 times."
