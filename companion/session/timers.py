"""Timers: of which step, and what for."""

from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple, Self


class For(StrEnum):
    """What a timer is for."""

    LEAST = "least"
    """A shortest time."""
    HALF = "half"
    """Half of it."""
    MOST = "most"
    """A longest time."""
    LOOK = "look"
    """A time of looking."""
    PART = "part"
    """The next part is told."""
    ROUND = "round"
    """One of the times that run again and again until the answer comes."""


_IN_SILENCE = frozenset({For.LEAST, For.LOOK, For.PART})


class Timer(NamedTuple):
    """One timer of a step; `number` counts parts and rounds, from 1."""

    step: str
    what: For
    number: int = 0

    @property
    def in_silence(self) -> bool:
        """Whether nobody has to say anything while it runs."""
        return self.what in _IN_SILENCE

    @property
    def text(self) -> str:
        """As it stands in a record: `rub/least`, `breaths/part-2`."""
        return f"{self.step}/{self.what}" + (f"-{self.number}" if self.number else "")

    @classmethod
    def parse(cls, text: str) -> Self:
        """The timer of such a text. Raises ValueError."""
        step, _, rest = text.partition("/")
        what, _, number = rest.partition("-")
        try:
            timer = cls(step, For(what), int(number or 0))
        except ValueError:
            timer = None
        if timer is None or timer.text != text:
            raise ValueError(f"`{text}` is no timer; accepted: the likes of `rub/least` and `breaths/part-2`")
        return timer


@lru_cache(maxsize=1024)
def timer_of(step: str, what: For, number: int = 0) -> Timer:
    """The same timer each time it is asked for: a proof asks a million times."""
    return Timer(step, what, number)
