"""What is said to the student: an opening, prompts or headings by the level of help, hints, and what ends it."""

from collections.abc import Collection
from typing import Literal

from companion.core.procedure import Procedure, Step

Level = Literal["full", "headings", "none"]
LEVELS: tuple[Level, ...] = ("full", "headings", "none")

HINTS = frozenset(
    {"hint", "a hint", "hint please", "give me a hint", "i need a hint", "may i have a hint", "a hint please"}
    | {"help", "help me", "what is next", "what comes next", "next hint"}
)
ENDS = frozenset(
    {"that is all", "that is everything", "i am finished", "i have finished", "end of rehearsal", "stop", "the end"}
)

_OPENING = {
    "full": "I prompt every step.",
    "headings": "I give the next heading only.",
    "none": "From memory, in an order of your own. I say nothing until you ask.",
}


def opening(procedure: Procedure, level: Level, count: int) -> str:
    """What is said first."""
    return (
        f"Rehearsal: {procedure.title}, {count} steps. {_OPENING[level]} "
        "Talk it through in your own words. What cannot be done here, say aloud all the same. "
        "Say hint for a hint, and that is all when you have finished."
    )


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
        return f"{step.title}."
    return step.say


def hint(step: Step, times: int) -> str:
    """The heading first; asked again, the whole prompt."""
    if times <= 1 or "{" in step.say:
        return f"Next: {step.title}." + (f" {step.hint}" if times > 1 and step.hint else "")
    return step.say
