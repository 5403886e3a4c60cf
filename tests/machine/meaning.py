"""Own words at a walker: what is surely or likely meant, and what may not be."""

from companion.errors import EventRefused
from companion.session.events import AskedBack, Replied
from tests.walk import Walker


def own(walker: Walker, phrase: str, *also: str) -> None:
    """Something is surely meant in other words."""
    walker.take(Replied(at_ms=walker.now + 500, phrase=phrase, also=also, how="own words", margin="1.20"))


def ask(walker: Walker, phrase: str = "", *also: str) -> None:
    """Something is likely meant, or a mere yes or no was said."""
    walker.take(AskedBack(at_ms=walker.now + 500, phrase=phrase, also=also))


def refused(walker: Walker, phrase: str = "", *also: str) -> bool:
    before = walker.state
    try:
        ask(walker, phrase, *also)
    except EventRefused:
        return walker.state is before
    return False


def to_who(walker: Walker) -> Walker:
    walker.reply("rub is in")
    walker.wait(25)
    walker.reply("both hands dry")
    assert walker.step == "who"
    return walker
