"""One reply that answers several things a step compares, by the machine alone."""

from pathlib import Path

import pytest

from companion.errors import EventRefused
from companion.procedure.loading import load
from companion.procedure.loading.loader import load_text
from companion.session.events import Replied
from companion.speech.controls import right_or_wrong
from tests.machine.meaning import ask, own, refused, to_who
from tests.walk import Walker

DRILL = Path(__file__).parent.parent / "data" / "drill.yaml"
RIGHT_OR_WRONG = right_or_wrong("en-US")


@pytest.fixture
def walker() -> Walker:
    return Walker(load(DRILL).procedure)


def test_several_answers_at_once_confirm_what_they_say(walker: Walker) -> None:
    to_who(walker)
    own(walker, "name agrees", "birthday agrees")
    assert walker.texts()[0] == "Name agrees. Birthday agrees."
    assert walker.step == "ordered"
    walker.reply("no")
    assert walker.step == "who" and walker.state.here.item == 0


def test_what_a_step_does_not_ask_is_not_waited_for_in_a_reply_to_several() -> None:
    """Who named a third identifier where two are asked had not been understood at all."""
    text = DRILL.read_text("utf-8").replace("count: 2", "count: 1")
    walker = to_who(Walker(load_text(text, "drill").procedure))
    assert [item.id for item in walker.machine.meant(walker.state).rest] == ["name"]


def test_several_answers_at_once_are_asked_back_together(walker: Walker) -> None:
    to_who(walker)
    assert refused(walker, "name agrees", "xyzzy") and refused(walker, "name agrees", "birthday agrees", "four one")
    ask(walker, "name agrees", "birthday agrees")
    assert walker.texts() == [f"Name agrees. Birthday agrees. {RIGHT_OR_WRONG}"]
    walker.reply("no")
    assert walker.step == "who" and walker.state.here.item == 0
    ask(walker, "name agrees")
    walker.reply("yes")
    assert walker.state.here.item == 1, "only what was asked is confirmed"


def test_several_answers_at_once_stop_the_work_where_one_differs(walker: Walker) -> None:
    to_who(walker)
    own(walker, "name agrees", "birthday differs")
    assert walker.step == "step-away"


@pytest.mark.parametrize(
    ("also", "how"),
    [
        (("birthday agrees", "eighteen units"), "own words"),
        (("xyzzy",), "own words"),
        (("birthday agrees",), "phrase"),
        (("birthday agrees",), "asked back"),
    ],
)
def test_more_than_the_step_asks_is_refused_in_a_sentence(walker: Walker, also: tuple[str, ...], how: str) -> None:
    before = to_who(walker).state
    event = Replied.model_validate({"at_ms": walker.now, "phrase": "name agrees", "also": also, "how": how})
    with pytest.raises(EventRefused, match="cannot be taken"):
        walker.take(event)
    assert walker.state is before
