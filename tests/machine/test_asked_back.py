"""Own words and questions back, by the machine alone: what counts, what does not, and what can be taken back."""

from pathlib import Path

import pytest

from companion.errors import EventRefused
from companion.machine.machine import Machine
from companion.procedure.loading import load
from companion.procedure.loading.loader import load_text
from companion.session.events import Missed, Resumed, Sealed
from companion.speech.controls import right_or_wrong
from tests.machine.meaning import ask, own, refused, to_who
from tests.walk import Walker

DRILL = Path(__file__).parent.parent / "data" / "drill.yaml"
RIGHT_OR_WRONG = right_or_wrong("en-US")


@pytest.fixture
def walker() -> Walker:
    return Walker(load(DRILL).procedure)


def to_volume(walker: Walker) -> Walker:
    to_who(walker).replies("name agrees", "birthday agrees", "eighteen units", "exactly right", "tray is tidy")
    assert walker.step == "volume"
    return walker


def to_recount(walker: Walker) -> Walker:
    to_volume(walker).replies("zero point one eight milliliters", "zero point one eight milliliters")
    walker.replies("five two", "exactly right", "zero point two milliliters", "zero point two milliliters")
    assert walker.step == "both-recount"
    return walker


def test_what_is_asked_back_counts_once_it_is_said_to_be_right(walker: Walker) -> None:
    ask(walker, "rub is in")
    assert walker.texts() == [f"Rub is in. {RIGHT_OR_WRONG}"]
    assert not walker.state.done
    walker.reply("yes")
    assert [(done.step, done.phrase) for done in walker.state.done] == [("hands-wet", "rub is in")]


def test_what_is_wrong_is_asked_anew_and_not_asked_back_twice_in_a_row(walker: Walker) -> None:
    to_who(walker)
    ask(walker, "name agrees")
    walker.reply("wrong")
    assert walker.texts() == ["First the name."]
    assert walker.state.here.item == 0
    assert refused(walker, "name agrees")
    ask(walker, "name differs")
    walker.reply("no")
    ask(walker, "name agrees")
    walker.reply("right")
    assert walker.state.here.item == 1


def test_a_mere_word_is_answered_by_what_counts_once(walker: Walker) -> None:
    to_who(walker)
    ask(walker)
    question, offers = walker.texts()
    assert question == "First the name."
    assert offers.startswith("You can say: name differs; or: name agrees.")
    assert refused(walker)
    walker.reply("name agrees")
    ask(walker)
    assert walker.texts()[0] == "Now the date of birth."


@pytest.mark.parametrize("phrase", ["stop", "go back", "xyzzy", "birthday agrees"])
def test_only_what_may_be_meant_by_other_words_is_asked_back(walker: Walker, phrase: str) -> None:
    assert refused(to_who(walker), phrase)


def test_a_figure_under_seal_is_neither_asked_back_nor_taken_without_its_seal(walker: Walker) -> None:
    to_volume(walker)
    figure = "zero point one eight milliliters"
    assert refused(walker, figure)
    with pytest.raises(EventRefused) as told:
        own(walker, figure)
    assert "one eight" not in str(told.value)
    walker.take(Sealed(at_ms=walker.now, seal="x" * 64, how="own words", margin="0.90"))
    assert "Noted and hidden" in walker.texts()[0]


def test_nothing_is_asked_back_while_something_else_is_asked(walker: Walker) -> None:
    to_who(walker).replies("name agrees", "birthday agrees", "eighteen units")
    assert refused(walker) and refused(walker, "needle stick injury"), "a read-back is answered first"
    for phrase in ("completely wrong", "pause"):
        walker.reply(phrase)
    assert refused(walker) and refused(walker, "needle stick injury")
    walker.reply("resume")
    assert walker.state.status == "restating"
    assert refused(walker) and refused(walker, "needle stick injury")


def test_talk_that_is_asked_back_in_vain_falls_silent_but_not_of_an_emergency() -> None:
    text = DRILL.read_text("utf-8").replace("heard: [needle", "emergency: yes\n    heard: [needle")
    walker = to_who(Walker(load_text(text, "drill").procedure))
    for _ in range(3):
        walker.take(Missed(at_ms=walker.now + 1, why="other", told=True))
    assert refused(walker) and refused(walker, "name agrees") and refused(walker, "patient refuses")
    ask(walker, "needle stick injury")
    walker.reply("yes")
    assert walker.step == "wash"


@pytest.mark.parametrize("phrase", ["stop", "pause", "go back"])
def test_what_leads_elsewhere_drops_the_question(walker: Walker, phrase: str) -> None:
    to_who(walker)
    ask(walker, "name agrees")
    walker.reply(phrase)
    assert "right" not in walker.machine.allowed(walker.state)
    if phrase != "go back":
        walker.replies("resume", "still valid")
        assert walker.step == "who" and walker.state.here.item == 0
        assert "right" not in walker.machine.allowed(walker.state)


@pytest.mark.parametrize("phrase", ["repeat", "help", "why"])
def test_what_only_tells_keeps_the_question(walker: Walker, phrase: str) -> None:
    to_who(walker)
    ask(walker, "name agrees")
    walker.reply(phrase)
    assert phrase != "repeat" or walker.texts() == [f"Name agrees. {RIGHT_OR_WRONG}"]
    walker.reply("right")
    assert walker.state.here.item == 1


def test_a_crash_in_the_middle_of_the_question_confirms_nothing(walker: Walker) -> None:
    to_who(walker)
    ask(walker, "name agrees")
    walker.take(Resumed(at_ms=walker.now + 60_000))
    assert walker.state.status == "restating"
    walker.reply("yes")
    assert walker.step == "who" and walker.state.here.item == 0


def test_a_time_that_runs_out_asks_anew_and_lets_the_same_be_asked_back_again(walker: Walker) -> None:
    walker.reply("rub is in")
    ask(walker, "both hands dry")
    walker.wait(21)
    assert "right" not in walker.machine.allowed(walker.state)
    ask(walker, "both hands dry")
    walker.reply("right")
    assert walker.step == "who"


def test_a_time_that_runs_out_does_not_drop_the_question_of_an_emergency() -> None:
    text = DRILL.read_text("utf-8").replace("heard: [needle", "emergency: yes\n    heard: [needle")
    walker = Walker(load_text(text, "drill").procedure)
    walker.reply("rub is in")
    ask(walker, "needle stick injury")
    walker.wait(21)
    walker.reply("yes")
    assert walker.step == "wash"


def test_a_wait_is_not_shortened_by_a_question(walker: Walker) -> None:
    walker.reply("rub is in")
    ask(walker, "both hands dry")
    walker.reply("right", 2_000)
    assert walker.step == "rub" and "Not yet" in walker.texts()[0]


def test_own_words_are_told_and_a_no_right_after_takes_them_back(walker: Walker) -> None:
    own(walker, "rub is in")
    assert walker.texts()[0] == "Rub is in."
    assert walker.step == "rub"
    walker.reply("no")
    assert walker.texts() == ["Then that step again.", "Product in the palm"]
    assert walker.step == "hands-wet" and not walker.state.done and walker.state.before is None


def test_a_time_that_ran_runs_on_when_own_words_are_taken_back(walker: Walker) -> None:
    walker.reply("rub is in")
    walker.wait(25)
    own(walker, "both hands dry")
    walker.wait(5)
    walker.reply("completely wrong")
    assert walker.step == "rub"
    walker.reply("both hands dry")
    assert walker.step == "who", "the 20 seconds were over before"


@pytest.mark.parametrize("between", [("name agrees",), ("pause", "resume", "still so"), ("go back", "both hands dry")])
def test_once_something_else_was_said_nothing_is_taken_back(walker: Walker, between: tuple[str, ...]) -> None:
    walker.reply("rub is in")
    walker.wait(25)
    own(walker, "both hands dry")
    assert "completely wrong" in walker.machine.allowed(walker.state)
    walker.replies(*between)
    assert "completely wrong" not in walker.machine.allowed(walker.state)


def test_a_mere_no_answers_what_is_compared_rather_than_taking_back(walker: Walker) -> None:
    """`No` to `Now the date of birth.` had led back to the name, again and again, with the wrong person in the bed."""
    to_who(walker)
    own(walker, "name agrees")
    allowed = walker.machine.allowed(walker.state)
    assert {"no", "wrong", "not right"}.isdisjoint(allowed)
    walker.reply("completely wrong")
    assert walker.state.here.item == 0


def test_a_mere_no_does_not_take_back_an_emergency() -> None:
    """`Breathing normally?` `No.` had led back to washing hands."""
    text = DRILL.read_text("utf-8").replace("heard: [needle", "emergency: yes\n    heard: [needle")
    walker = to_who(Walker(load_text(text, "drill").procedure))
    own(walker, "needle stick injury")
    assert walker.step == "wash"
    assert "no" not in walker.machine.allowed(walker.state)
    walker.reply("completely wrong")
    assert walker.step == "who"


def test_what_was_undone_does_not_come_back_by_a_no(walker: Walker) -> None:
    """Steps that were undone had come back as confirmed at the moment of the `no`, without what was said for them."""
    to_recount(walker)
    own(walker, "figures put aside")
    assert walker.step == "volume"
    assert walker.state.before is None


def test_a_value_in_own_words_is_read_back_first(walker: Walker) -> None:
    to_who(walker).replies("name agrees", "birthday agrees")
    own(walker, "eighteen units")
    assert walker.texts() == [f"Heard: 18 units. {RIGHT_OR_WRONG}"]
    assert "ordered" not in walker.state.values and walker.state.before is None


def test_only_the_performer_signs_also_when_asked_back(walker: Walker) -> None:
    to_volume(walker).replies("zero point one eight milliliters", "zero point one eight milliliters")
    walker.replies("five two", "exactly right", *("zero point one eight milliliters",) * 2)
    walker.wait(10)
    walker.reply("nothing to see")
    ask(walker, "five two")
    walker.reply("right")
    assert walker.step == "sign"
    ask(walker, "four one")
    walker.reply("right")
    assert walker.state.ended and not walker.state.outcome
    assert Machine(walker.machine.procedure).fold(walker.events) == walker.state
