"""What travels together through every conversation: voice, screen, keyboard, microphone and time."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from companion.meaning.understood import MeaningReader
from companion.ports.clock import Clock
from companion.ports.sound import Microphone
from companion.ports.voice import Voice
from companion.procedure.kinds.base import Say

LONGEST_TYPED = 500
"""Characters a typed line may have: a reply is short, a sentence of a rehearsal may be long."""


class Display(Protocol):
    """Shows what happens. It decides nothing; the session goes on whatever becomes of it."""

    def says(self, say: Say) -> None:
        """The program says something."""

    def heard(self, phrase: str, by: str) -> None:
        """A reply was taken; `phrase` is "(hidden)" for a figure under seal."""

    def missed(self, reason: str) -> None:
        """Speech, or a typed line, was not taken. Stays in view until something is."""

    def listening(self, phrases: Sequence[str]) -> None:
        """Somebody may answer with one of these; without any, in words of their own."""

    def notice(self, text: str) -> None:
        """Something outside the procedure: a voice that died, a microphone that is gone."""


class Keys(Protocol):
    """Typed lines, without waiting for them."""

    @property
    def interrupts(self) -> bool:
        """True where a line may come at any moment, also while the program speaks (a person at a keyboard); False
        where lines wait in a pipe and each answers the next question."""

    def poll(self) -> list[str]:
        """Lines typed since the last call, without their line ends. An empty line is the key alone."""

    def hide(self, hidden: bool) -> None:
        """Whether what is typed next may be seen."""

    @property
    def ended(self) -> bool:
        """True when no more can be typed."""


class NoKeys:
    """Nobody types."""

    interrupts = True

    def __init__(self, ended: bool = False) -> None:
        """`ended`: when the sound is over, so is the session."""
        self.ended = ended

    def poll(self) -> list[str]:
        return []

    def hide(self, hidden: bool) -> None:
        """Nothing is typed, so nothing shows."""


def _nobody() -> None:
    """The people in the room need no telling."""


@dataclass(frozen=True)
class Room:
    """Where a conversation takes place."""

    clock: Clock
    voice: Voice
    display: Display
    keys: Keys
    microphone: Microphone | None = None
    """None where there is none: the keyboard then does everything."""
    your_turn: Callable[[], None] = _nobody
    """Called each time somebody may speak or type; whoever plays the people in the room answers."""
    reader: MeaningReader | None = None
    """Tells what is meant by own words; None where phrases alone count."""
