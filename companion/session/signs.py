"""The one rule of what follows speech that was not taken, whyever it was not.

The screen tells each time, and a tone follows at once. The second time in a row what can be said is spoken, the third
time that the keyboard takes it too (`core.asking`), and after that nothing more is spoken until something is taken.
Talk that is not meant for the program is heard as speech all the same, so tones keep their distance: a few seconds, and
more where the row has grown long or the session is held, since people then most likely talk with each other.
"""

from collections.abc import Container
from typing import Protocol

from companion.ports.recogniser import Hearing
from companion.ports.sound import Samples

_APART_MS = 4_000
_APART_IN_TALK_MS = 20_000
_TALK = 3
"""A longer row than this is talk, until something is taken."""


_UNCLEAR, _OTHER = "it was not clear enough", "it was none of the phrases"


def why_not(hearing: Hearing, phrases: Container[str]) -> str:
    """Why it was not taken, for the screen. What it came nearest to is told only where it is one of `phrases`: the
    others are near misses that it was only compared with, and nobody may say them."""
    if hearing.verdict == "silence" or hearing.nearest in phrases:
        return hearing.reason
    return _UNCLEAR if hearing.verdict == "unclear" else _OTHER


class Spotter(Protocol):
    """Listens while the program speaks."""

    def feed(self, samples: Samples) -> bool:
        """The next sound from the microphone; True once when somebody has just said stop."""

    def talked(self) -> bool:
        """Whether somebody has said something else since this was last asked."""


class Signs:
    """When a tone is due. Times are those of the session, in milliseconds."""

    def __init__(self) -> None:
        self._last_ms: int | None = None

    def due(self, now_ms: int, row: int, held: bool) -> bool:
        """Whether one sounds now; it then counts as sounded. `row` is how many were not taken in a row."""
        apart = _APART_IN_TALK_MS if held or row > _TALK else _APART_MS
        if self._last_ms is not None and now_ms - self._last_ms < apart:
            return False
        self._last_ms = now_ms
        return True

    def forget(self) -> None:
        """Something was taken: the next one sounds at once."""
        self._last_ms = None
