"""The program's own questions. Each is made of the phrases that answer it: what a prompt offers is always taken."""

from companion.speech.controls import offered
from companion.speech.language import tell


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
