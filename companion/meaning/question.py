"""What is asked at a moment, as the reader of meanings is given it: all from the procedure's own text."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

NOT_YET, ASKS_BACK, ASIDE, OTHERWISE = "not yet", "asks back", "to somebody else", "something else"
BESIDE = (NOT_YET, ASKS_BACK, ASIDE, OTHERWISE)
"""What people say that is no answer; each is weighed like a meaning, so that it can win."""

Meanings = Mapping[str, Sequence[str]]
"""Each meaning by its name, with the phrases that say it whole."""


@dataclass(frozen=True)
class Question:
    """A prompt and what may be meant by a reply to it. The first meaning is the one that leads on."""

    prompt: str
    meanings: Meanings
    critical: bool = False


def told(prompt: str, meaning: str, phrases: Sequence[str] = ()) -> str:
    """The first text of a pair for the model, whose second is what was said."""
    return f"{prompt} [{meaning}] {', '.join(phrases)}".rstrip()


def told_item(prompt: str, about: str, meaning: str, phrases: Sequence[str] = ()) -> str:
    """The same where several things are asked at once and this one is looked at."""
    return told(f"{prompt} {about}" if about else prompt, meaning, phrases)


def told_step(title: str, prompt: str, phrases: Sequence[str] = ()) -> str:
    """The same for a step of a talk from memory, to which nobody has asked anything."""
    return f"{title}: {prompt} [said from memory] {', '.join(phrases)}".rstrip()
