"""The step machine, told as replies and what they lead to. The drill is made up; the rules are the design's."""

from pathlib import Path
from typing import Literal

import pytest

from companion.errors import EventRefused
from companion.machine.machine import Machine
from companion.procedure.due import is_due
from companion.procedure.loading import load
from companion.session.events import Missed, Replied, Silent, Started, StepNote, TimeUp
from companion.session.state import Here, State
from tests.walk import Walker

DRILL = Path(__file__).parent.parent / "data" / "drill.yaml"
TURNS = DRILL.with_name("turns.yaml")
TO_READING = ("rub is in",)


@pytest.fixture
def walker() -> Walker:
    return Walker(load(DRILL).procedure)


def _to_figures(walker: Walker, dose: str = "eighteen units") -> None:
    walker.reply("rub is in")
    walker.wait(25)
    walker.replies("both hands dry", "name agrees", "birthday agrees", dose, "exactly right", "tray is tidy")
    assert walker.step == "volume"


def _figure(walker: Walker, words: str) -> None:
    walker.replies(f"{words} milliliters", f"{words} milliliters")


def test_a_whole_drill_is_signed(walker: Walker) -> None:
    _to_figures(walker)
    _figure(walker, "zero point one eight")
    walker.replies("five two", "exactly right")
    _figure(walker, "zero point one eight")
    walker.wait(10)
    walker.replies("nothing to see", "four one")
    assert walker.state.status == "finished"
    assert walker.state.checker == "52"
    procedure, values = walker.machine.procedure, walker.state.values
    due = [step.id for step in procedure.steps if is_due(procedure, values, step) is not False]
    assert [done.step for done in walker.state.done] == due
    assert not {"large", "stock"} & set(due)


def test_a_wait_is_not_confirmed_early(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.reply("both hands dry", 12_000)
    assert walker.step == "rub"
    assert walker.texts() == ["Not yet. 8 seconds to go."]
    walker.wait(8)
    assert walker.texts() == [] and walker.says[-1].text == "20 seconds have passed. Are both dry?"
    walker.reply("both hands dry")
    assert walker.step == "who"


def test_a_late_wait_is_noted(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.wait(70)
    walker.reply("both hands dry")
    assert walker.state.done[-1].note == "late"


def test_an_identifier_that_differs_stops_the_work(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.wait(25)
    walker.replies("both hands dry", "name agrees", "birthday differs", "stepped away")
    assert walker.state.status == "abandoned"
    assert walker.state.outcome == "not the right person"


def test_a_reading_counts_only_after_its_read_back(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.wait(25)
    walker.replies("both hands dry", "name agrees", "birthday agrees", "thirty units")
    assert walker.texts() == ["Heard: 30 units. Yes or no?"]
    walker.reply("completely wrong")
    assert "ordered" not in walker.state.values
    walker.replies("one three units", "exactly right")
    assert walker.state.values["ordered"].written() == "13 units"


def test_a_value_out_of_range_takes_its_branch(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.wait(25)
    walker.replies("both hands dry", "name agrees", "birthday agrees", "fifty five units", "exactly right")
    assert walker.step == "ask-prescriber"
    walker.reply("order is clarified")
    assert walker.step == "ordered"
    assert "ordered" not in walker.state.values


# ISMP Canada, 28 August 2019: two people work it out apart, neither knowing the other's result, and compare afterwards.
def test_figures_that_differ_are_worked_out_again(walker: Walker) -> None:
    _to_figures(walker)
    _figure(walker, "zero point one eight")
    walker.replies("five two", "exactly right")
    _figure(walker, "zero point four one")
    assert walker.step == "both-recount"
    assert any("differ" in text for text in walker.texts())
    walker.reply("figures put aside")
    assert walker.step == "volume"
    assert not walker.state.seals and "volume" not in walker.state.values


def test_a_checker_who_repeats_the_performers_wrong_figure_is_caught(walker: Walker) -> None:
    _to_figures(walker)
    _figure(walker, "zero point two eight")
    walker.replies("five two", "exactly right")
    _figure(walker, "zero point two eight")
    assert walker.step == "both-recount"
    assert not any("0.18" in text for text in walker.texts()), "the program never leads"


def test_the_performer_cannot_check_their_own_figure(walker: Walker) -> None:
    _to_figures(walker)
    _figure(walker, "zero point one eight")
    walker.reply("four one")
    assert walker.texts() == ["That is the performer's tag. Another person has to check."]
    assert walker.state.here.phase == "ask"


def test_a_figure_said_differently_the_second_time_is_not_taken(walker: Walker) -> None:
    _to_figures(walker)
    walker.replies("zero point one eight milliliters", "zero point one nine milliliters")
    assert walker.step == "volume" and walker.state.here.phase == "ask"
    assert not walker.state.seals


def test_what_was_under_seal_is_asked_again_after_a_crash(walker: Walker) -> None:
    _to_figures(walker)
    _figure(walker, "zero point one eight")
    walker.interrupt()
    assert walker.state.status == "restating"
    walker.reply("still valid")
    assert walker.step == "volume"


def test_what_was_under_seal_is_asked_again_after_a_crash_in_a_branch(walker: Walker) -> None:
    """The branch goes on where it was, and comes back to the figure whose seal nobody can open any more."""
    _to_figures(walker)
    _figure(walker, "zero point one eight")
    walker.reply("needle stick injury")
    walker.interrupt()
    assert walker.step == "wash" and not walker.state.seals
    walker.replies("wound is washed", "it is reported")
    assert walker.step == "volume"
    assert walker.state.done[-1].step != "volume"


def test_going_back_to_a_check_goes_back_to_the_figure_it_checks(walker: Walker) -> None:
    """Once opened the first figure is no secret, so a check of it alone would be none."""
    _to_figures(walker)
    _figure(walker, "zero point one eight")
    walker.replies("five two", "exactly right")
    _figure(walker, "zero point one eight")
    walker.figures.clear()
    walker.reply("go back")
    assert walker.step == "volume" and not walker.state.seals and "volume" not in walker.state.values
    _figure(walker, "zero point one eight")
    walker.replies("five two", "exactly right")
    _figure(walker, "zero point one eight")
    assert walker.step == "look" and walker.state.values["volume"].written() == "0.18 mL"


def test_a_pause_restates_the_last_confirmed_step(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.wait(25)
    walker.replies("both hands dry", "pause")
    with pytest.raises(EventRefused, match="not among the phrases allowed here"):
        walker.take(Replied(at_ms=walker.now, phrase="name agrees"))
    walker.reply("resume")
    assert walker.texts() == ["Going on. Last confirmed was: Rub all surfaces. Is that so still, or not?"]
    walker.reply("no longer valid")
    assert walker.step == "rub"


def test_a_session_can_always_be_ended_but_not_by_accident(walker: Walker) -> None:
    seen = []
    for words in (("stop", "end the session", "completely wrong"), ("end the session", "exactly right")):
        walker.replies(*words)
        seen.append(walker.state.status)
    assert seen == ["held", "abandoned"]
    assert walker.state.outcome == "ended by the performer"


def test_a_branch_returns_to_the_step_it_left(walker: Walker) -> None:
    walker.replies("rub is in", "needle stick injury", "wound is washed", "it is reported")
    assert walker.step == "rub"
    walker.reply("needle stick injury")
    assert walker.step == "wash", "the same branch can be taken a second time once it is over"


@pytest.mark.parametrize("whys", [("unclear",) * 6, ("other",) * 6, ("other", "unclear") * 3])
def test_there_is_one_rule_for_whatever_was_not_taken(
    walker: Walker, whys: tuple[Literal["unclear", "other"], ...]
) -> None:
    """37 of 40 refusals had been followed by no sound, since they were none of the phrases. The tone is the loop's."""
    said = []
    for why in whys:
        walker.take(Missed(at_ms=walker.now + 1, why=why, told=True))
        said.append(" ".join(walker.texts()))
    assert said[0] == ""
    assert "rub is in" in said[1]
    assert "keyboard" in said[2]
    assert said[3:] == ["", "", ""], "talk in the room does not make it chatter"
    assert walker.step == "hands-wet"
    walker.reply("repeat")
    walker.take(Missed(at_ms=walker.now + 1, why="other", told=True))
    walker.take(Missed(at_ms=walker.now + 1, why="other", told=True))
    assert "rub is in" in " ".join(walker.texts()), "something was taken, so it is told again"


def test_records_of_before_fold_as_they_did(walker: Walker) -> None:
    """In them `other` passed without a word, and only `unclear` was counted."""
    walker.take(Missed(at_ms=5, why="other"))
    assert walker.last == () and walker.state.here == Here()
    walker.take(Missed(at_ms=6, why="unclear"))
    assert walker.state.here == Here(misses=1)


def test_while_held_nothing_is_spoken(walker: Walker) -> None:
    walker.reply("pause")
    for _ in range(3):
        walker.take(Missed(at_ms=walker.now + 1, why="other", told=True))
        assert walker.last == ()


def test_silence_is_broken_twice_at_most(walker: Walker) -> None:
    said = []
    for _ in range(4):
        walker.take(Silent(at_ms=walker.now))
        said.append(len(walker.last))
    assert said == [1, 1, 0, 0]


def test_a_critical_step_cannot_be_left_out_and_another_can(walker: Walker) -> None:
    assert "leave it out" not in walker.machine.allowed(walker.state)
    _to_figures(walker)
    walker.replies("go back", "leave it out")
    assert walker.step == "volume"
    assert walker.state.done[-1].note == "left out"


def test_a_drying_time_runs_while_something_else_is_done(walker: Walker) -> None:
    walker.replies("rub is in", "needle stick injury")
    walker.wait(30)
    assert [say.text for say in walker.says[-1:]] == ["Rub all surfaces: the time is up."]
    assert walker.step == "wash"


def test_a_timer_cannot_run_out_before_its_time(walker: Walker) -> None:
    walker.reply("rub is in")
    with pytest.raises(EventRefused, match="not running out now"):
        walker.take(TimeUp(at_ms=walker.now + 10, timer="rub/least"))


def test_why_and_help_answer_without_going_on(walker: Walker) -> None:
    walker.reply("why")
    assert walker.texts() == ["Clean hands come first."]
    walker.reply("help")
    assert "rub is in" in walker.texts()[-1]
    assert walker.step == "hands-wet"


def test_what_is_known_for_one_session_is_said_at_its_step() -> None:
    procedure = load(DRILL).procedure
    machine = Machine(procedure)
    note = StepNote(step="rub", text="The dispenser is behind you.")
    start = Started(at_ms=0, performer="41", today="2030-03-04", notes=(note,))
    state, said = machine.step(State(), start)
    assert note.text not in [say.text for say in said]
    state, said = machine.step(state, Replied(at_ms=1, phrase="rub is in"))
    assert said[0].text == note.text


def test_the_next_note_is_said_when_a_branch_begins_the_step_again_after_its_value() -> None:
    """Common practice: what was named and found unfit is not named again; another choice leaves its turn to it."""
    first, last = ("On the belly, to one side.", "On the leg, to the other.")
    notes = (StepNote(step="site", text=first, value="left abdomen"), StepNote(step="site", text=last))
    walker = Walker(load(TURNS).procedure, notes=notes)
    walker.reply("nine units")
    assert walker.texts()[0] == first
    unfit = ("lump or bruise", "another place found")
    walker.replies("left thigh", *unfit)
    assert first in walker.texts(), "that spot was not tried"
    walker.replies("left abdomen", *unfit)
    assert last in walker.texts() and first not in walker.texts()
    walker.replies("left abdomen", "go back")
    assert last in walker.texts()
    walker.replies("left abdomen", *unfit)
    assert last in walker.texts(), "there is no other"
