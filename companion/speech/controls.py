"""The few phrases that are the program's own and mean the same at every step."""

from companion.speech.language import control_phrases, tell
from companion.speech.language.controls import Control

ANSWERS: tuple[Control, ...] = ("resume", "end", "right", "wrong", "stands", "falls")
"""Answers to the program's own questions: they count only where one is asked, and no step's own reply counts there."""


def offered(control: Control, language: str) -> str:
    """The phrase by which a control is offered."""
    return control_phrases(language)[control][0]


def reserved(language: str) -> frozenset[str]:
    """The phrases that count beside a step's own replies, so that no step may use them for anything else."""
    return frozenset(word for name, words in control_phrases(language).items() if name not in ANSWERS for word in words)


# The program's own questions are made of the phrases that answer them: what a prompt offers is always taken.


def right_or_wrong(language: str) -> str:
    """Asked of every read-back."""
    right = offered("right", language).capitalize()
    return tell(language, "right or wrong", right=right, wrong=offered("wrong", language))


def still_so(language: str) -> str:
    """Asked of the last confirmed step after a break."""
    return tell(language, "still so", stands=offered("stands", language), falls=offered("falls", language))


def on_or_end(language: str) -> str:
    """Said while nothing counts."""
    return tell(language, "on or end", resume=offered("resume", language), end=offered("end", language))
