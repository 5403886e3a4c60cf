"""A second person reads without knowing what the first one read.

ISMP Canada, 28 August 2019: the second person works apart from the first, without knowing their result.
"""

from pathlib import Path

import pytest

from companion.procedure.loading import load
from tests.walk import Walker

PROCEDURE = load(Path(__file__).parent.parent / "data" / "second-look.yaml").procedure


def _to_check() -> Walker:
    walker = Walker(PROCEDURE)
    walker.replies("eighteen units", "exactly right", "clear kind", "exactly right")
    assert walker.step == "window"
    return walker


def test_the_same_figure_is_confirmed_and_recorded_with_who_read_it() -> None:
    walker = _to_check()
    walker.replies("five two", "exactly right", "eighteen units", "exactly right")
    assert walker.step == "name-seen"
    assert walker.state.checker == "52"
    assert walker.state.values["window"].written() == "18 units"


def test_until_then_nothing_said_holds_the_first_figure() -> None:
    walker = _to_check()
    before = len(walker.says)
    walker.replies("five two", "exactly right", "help", "repeat", "twenty units", "completely wrong", "help")
    walker.replies("twenty units", "exactly right")
    said = " ".join(walker.heard()[before:])
    assert walker.step == "aside"
    assert "differ" in said or "do not have the same" in said
    assert "18" not in said and "eighteen" not in said


def test_another_figure_leads_into_the_branch_and_is_asked_anew() -> None:
    walker = _to_check()
    walker.replies("five two", "exactly right", "twenty units", "exactly right", "order is compared")
    assert walker.step == "window" and "window" not in walker.state.values
    assert walker.state.values["ordered"].text == "18"
    walker.replies("eighteen units", "exactly right")
    assert walker.step == "name-seen"


def test_the_tag_is_asked_once_and_another_checker_may_say_theirs() -> None:
    walker = _to_check()
    walker.replies("five two", "exactly right", "eighteen units", "exactly right")
    assert walker.texts()[-1].startswith("Checker, tag 52 as before;")
    walker.replies("five three", "exactly right", "clear kind", "exactly right")
    assert walker.state.checker == "53" and walker.step == "motions"


@pytest.mark.parametrize("first", [True, False])
def test_the_performer_is_no_second_person(first: bool) -> None:
    walker = _to_check()
    if not first:
        walker.replies("five two", "exactly right", "eighteen units", "exactly right")
    walker.reply("four one")
    assert walker.texts() == ["That is the performer's tag. Another person has to check."]


def test_going_back_before_the_check_keeps_what_the_first_one_read() -> None:
    walker = _to_check()
    walker.replies("go back", "cloudy kind", "exactly right")
    assert walker.state.values["ordered"].text == "18" and walker.step == "window"
