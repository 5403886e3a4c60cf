"""What is said to the student: an opening, prompts or headings by the level of help, hints, and what ends it."""

import re
from collections.abc import Collection
from typing import Literal

from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.speech.sentences import sentence

Level = Literal["full", "headings", "none"]
LEVELS: tuple[Level, ...] = ("full", "headings", "none")

HINTS = frozenset(
    {"hint", "a hint", "hint please", "give me a hint", "i need a hint", "may i have a hint", "a hint please"}
    | {"help", "help me", "what is next", "what comes next", "next hint"}
)

_END = re.compile(
    r"(?:(?:ok|okay|so|well|and|right|alright|yes|now|there|i think|i believe|i guess) )*"
    r"(?:(?:all )?(?:done|finished)|finish|the end|end|end of (?:the |my )?rehearsal|stop"
    r"|stop (?:it|now|here)|quit|exit"
    r"|that (?:is|was) (?:all|it|everything|the (?:end|lot|whole|whole thing)|all (?:of it|i have|i can think of))"
    r"|(?:i am|we are|i have|we have|i am now|i have now) (?:all |quite |completely |now )?(?:done|finished)"
    r"(?: (?:it|everything|the rehearsal|the procedure|rehearsing))?"
    r"|(?:it|everything|the rehearsal|the procedure|the whole thing) is (?:all )?(?:done|finished))"
    r"(?: (?:now|then|here|thanks|thank you|for me|from me|from my side))*"
)
"""A whole utterance that says no more than that it is over; "my hands are done" says a deed."""

_AFTER_A_PROMPT = frozenset({"done", "all done", "it is done"})
"""Where each step is prompted, these answer the prompt rather than end the rehearsal, the first time."""
_COMMANDS = frozenset(
    {"next", "next one", "next step", "next please", "continue", "go on", "go ahead", "carry on", "skip", "skip it"}
    | {"skip this", "skip that", "skip this step", "leave it out", "repeat", "repeat it", "repeat that"}
    | {"repeat please", "say again", "say that again", "go back", "back", "previous", "undo", "pause"}
    | {"resume", "why", "what", "what now", "start", "begin", "menu", "commands", "options", "command"}
    | {"i do not know", "no idea", "i forgot", "i have forgotten"}
)
"""What people say to a program that is no talk of a procedure."""
_NODS = frozenset(
    {"ok", "okay", "yes", "no", "right", "alright", "ready", "i am ready", "sure", "fine", "got it", "i see"}
)
"""The same after a prompt only: from memory they are thinking aloud."""

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
        return sentence(step.title)
    return step.say


def ends(plain: str, prompted: bool) -> bool:
    """Whether an utterance says that the rehearsal is over. `plain` are its words; `prompted`: a step was asked for."""
    return _END.fullmatch(plain) is not None and not (prompted and plain in _AFTER_A_PROMPT)


def what_works(plain: str, level: Level, prompted: bool) -> str:
    """The answer to a word that is meant for the program and that it does not know; empty for talk."""
    if level == "none":
        what = "From memory I say nothing unasked: tell each step in your own words."
        return f"{what} {_WORKS}" if plain in _COMMANDS else ""
    if plain in _COMMANDS or plain in _NODS or (prompted and plain in _AFTER_A_PROMPT):
        return f"Say in your own words what you do, and the next step comes by itself. {_WORKS}"
    return ""


_WORKS = "What works is hint, for help with the step, and that is all, to finish."


def hint(step: Step, times: int) -> str:
    """The heading first; asked again, the whole prompt."""
    if times <= 1 or "{" in step.say:
        return sentence(f"Next: {step.title}") + (f" {step.hint}" if times > 1 and step.hint else "")
    return step.say
