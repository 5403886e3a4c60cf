"""What is said to the student: an opening, prompts or headings by the level of help, hints, and what ends it."""

from collections.abc import Collection
from typing import Literal

from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.speech.language import asides_of, tell
from companion.speech.sentences import sentence

Level = Literal["full", "headings", "none"]
LEVELS: tuple[Level, ...] = ("full", "headings", "none")


def opening(procedure: Procedure, level: Level, count: int) -> str:
    """What is said first."""
    how = tell(procedure.language, f"help {level}")
    return tell(procedure.language, "opening", title=procedure.title, count=count, how=how)


def due(procedure: Procedure, expected: Collection[str], said: Collection[str], last: str | None) -> Step | None:
    """The next step not yet said, after the last one said where there is one; None when none is left."""
    left = [step for step in procedure.steps if step.id in expected and step.id not in said]
    if last is None:
        return left[0] if left else None
    order = [step.id for step in procedure.steps]
    later = [step for step in left if order.index(step.id) > order.index(last)]
    return next(iter(later or left), None)


def prompt(step: Step, level: Level) -> str:
    """The cue for a step; empty from memory."""
    if level == "none":
        return ""
    if level == "headings" or "{" in step.say:
        return sentence(step.title)
    return step.say


def asks_hint(plain: str, language: str = "en-US") -> bool:
    """Whether an utterance asks for a hint. `plain` are its words."""
    return plain in asides_of(language).hints


def ends(plain: str, prompted: bool, language: str = "en-US") -> bool:
    """Whether an utterance says that the rehearsal is over. `plain` are its words; `prompted`: a step was asked for."""
    asides = asides_of(language)
    return asides.end.fullmatch(plain) is not None and not (prompted and plain in asides.answers)


def what_works(plain: str, level: Level, prompted: bool, language: str = "en-US") -> str:
    """The answer to a word that is meant for the program and that it does not know; empty for talk."""
    asides, works = asides_of(language), tell(language, "works")
    if level == "none":
        return tell(language, "unasked", works=works) if plain in asides.commands else ""
    if plain in asides.commands or plain in asides.nods or (prompted and plain in asides.answers):
        return tell(language, "by itself", works=works)
    return ""


def hint(step: Step, times: int, language: str) -> str:
    """The heading first; asked again, the whole prompt."""
    if times <= 1 or "{" in step.say:
        heading = sentence(tell(language, "next", title=step.title))
        return heading + (f" {step.hint}" if times > 1 and step.hint else "")
    return step.say
