"""Time, passed in: nothing else in the program asks what time it is."""

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """Two times: one that only goes forward, for durations, and the wall's, for the record."""

    def now_ms(self) -> int:
        """Milliseconds of a clock that never goes back; only differences mean anything."""

    def utc(self) -> datetime:
        """The wall clock, zoned UTC. It may jump."""

    def wait_ms(self, ms: int) -> None:
        """Let `ms` milliseconds pass."""
