"""The one rule of what follows speech that was not taken, whyever it was not.

The screen tells each time, and a tone follows at once. The second time in a row what can be said is spoken, the third
time that the keyboard takes it too (`machine.asking`), and after that nothing more is spoken until something is taken.
Talk that is not meant for the program is heard as speech all the same, so tones keep their distance: a few seconds, and
more where the row has grown long or the session is held, since people then most likely talk with each other. A tone
that says something else than the last one need not keep the few seconds. A reply that came near a phrase is no talk,
and has its tone each time.
"""

from math import inf
from typing import Protocol

from companion.ports.sound import Samples
from companion.ports.voice import Sign

_APART_MS = 4_000
_APART_IN_TALK_MS = 20_000
_TALK = 3
"""A longer row than this is talk, until something is taken."""

_NEVER: tuple[float, Sign | None] = -inf, None


class Spotter(Protocol):
    """Listens while the program speaks."""

    def feed(self, samples: Samples) -> bool:
        """The next sound from the microphone; True once when somebody has just said stop."""

    def talked(self) -> bool:
        """Whether somebody has said something else since this was last asked."""


class Signs:
    """When a tone is due. Times are those of the session, in milliseconds."""

    def __init__(self) -> None:
        self._last = _NEVER

    def due(self, now_ms: int, row: int, held: bool, sign: Sign = "not taken", near: bool = False) -> bool:
        """Whether one sounds now; it then counts as sounded. `row` is how many were not taken in a row; `near`: this
        one came near a phrase."""
        talk = held or row > _TALK
        since, last = self._last
        if not near and now_ms - since < (_APART_IN_TALK_MS if talk else _APART_MS if last == sign else 0):
            return False
        self._last = now_ms, sign
        return True

    def forget(self) -> None:
        """Something was taken: the next one sounds at once."""
        self._last = _NEVER
