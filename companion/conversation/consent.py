"""Whether everybody in the room agrees that their replies are kept as sound. Asked once, before the session begins.

Whoever refuses, does not answer or is not clearly heard ends the asking, nobody is asked why, and no sound is kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from companion.conversation.asking import Answer
from companion.procedure.described import digits
from companion.session.events import By
from companion.speech.language import tell
from companion.speech.value_phrases import phrases_for
from companion.speech.values import TagValue

COUNTS: Mapping[str, int] = {
    "one person here": 1,
    "two people here": 2,
    "three people here": 3,
    "four people here": 4,
    "five people here": 5,
    "six people here": 6,
}
AGREE = "i agree to recording"
REFUSALS = ("i want no recording", "i do not agree", "i do not agree to recording", "i refuse")
WRONG_TAG = "that tag is wrong"


class Asks(Protocol):
    """See `asking.Asking`."""

    def ask(self, text: str, phrases: tuple[str, ...]) -> Answer | None: ...


@dataclass(frozen=True)
class Given:
    """Everybody agreed: the first is the performer."""

    tags: tuple[str, ...]
    by: tuple[By, ...]


def agreed_phrases(tag: TagValue, language: str) -> tuple[str, ...]:
    """Every phrase that may be asked for here, so that it is known whether a recogniser can hear them."""
    return (*COUNTS, AGREE, *REFUSALS, WRONG_TAG, *_tags(tag, language))


def reach(asking: Asks, tag: TagValue, language: str, performer: str = "") -> Given | str:
    """Ask everybody. What was agreed, or in a few words why no sound is kept. `performer` is their tag where it is
    known already."""
    counted = asking.ask(tell("en", "how many"), (*COUNTS, *REFUSALS))
    if counted is None or counted.phrase in REFUSALS:
        return _why(counted)
    tags: list[str] = []
    by: list[By] = []
    for number in range(1, COUNTS[counted.phrase] + 1):
        one = _one(
            asking, tag, language, tell("en", "person", number=number, count=COUNTS[counted.phrase]), performer, tags
        )
        if isinstance(one, str):
            return one
        tags.append(one[0])
        by.append(one[1])
    return Given(tuple(tags), tuple(by))


def _one(
    asking: Asks, tag: TagValue, language: str, who: str, performer: str, before: list[str]
) -> tuple[str, By] | str:
    """One person's tag and how they agreed, or why not."""
    known = "" if before else performer
    words = _tags(tag, language)
    role = "" if before else tell("en", "who performs")
    for _ in range(3):
        mine = known
        if not mine:
            said = asking.ask(tell("en", "your tag", who=who + role, digits=digits(tag, language)), (*words, *REFUSALS))
            if said is None or said.phrase in REFUSALS:
                return _why(said)
            mine = words[said.phrase]
        if mine in before:
            continue  # two people cannot have one tag: it is asked for again
        answer = asking.ask(tell("en", "if you agree", who=who, tag=" ".join(mine)), (AGREE, *REFUSALS, WRONG_TAG))
        if answer is None or answer.phrase in REFUSALS:
            return _why(answer)
        if answer.phrase == AGREE:
            return mine, answer.by
        known = ""
    return tell("en", "tag unclear")


def _tags(tag: TagValue, language: str) -> dict[str, str]:
    """Phrase to tag."""
    day = date(2000, 1, 1)  # a tag has no date in it
    return {phrase: value.text for phrase, value in phrases_for(tag, day, True, language).items()}


def _why(answer: Answer | None) -> str:
    return tell("en", "nobody clear" if answer is None else "not everybody")
