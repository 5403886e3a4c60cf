"""What a session needs of a screen and of a keyboard."""

from collections.abc import Sequence
from typing import Protocol

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
        """The program listens for these."""

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
