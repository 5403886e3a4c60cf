"""The two clocks: the machine's own, and one that only moves when it is told to."""

import time
from datetime import UTC, datetime, timedelta


class RealClock:
    """The machine's clocks. `now_ms` does not stop or jump when the wall clock is set."""

    def now_ms(self) -> int:
        return time.monotonic_ns() // 1_000_000

    def utc(self) -> datetime:
        return datetime.now(UTC)

    def wait_ms(self, ms: int) -> None:
        time.sleep(max(0, ms) / 1000)


class SimulatedClock:
    """Time that passes only by `wait_ms` and `advance`, so that a long session runs in seconds."""

    def __init__(self, start: datetime) -> None:
        """`start` is the wall time shown at first; it must carry a zone."""
        if start.tzinfo is None:
            raise ValueError("a simulated clock starts at a time with a zone, such as datetime(2030, 1, 1, tzinfo=UTC)")
        self._start = start.astimezone(UTC)
        self._passed_ms = 0

    def now_ms(self) -> int:
        return self._passed_ms

    def utc(self) -> datetime:
        return self._start + timedelta(milliseconds=self._passed_ms)

    def wait_ms(self, ms: int) -> None:
        self.advance(ms)

    def advance(self, ms: int) -> None:
        """Let `ms` milliseconds pass at once; a negative number counts as none."""
        self._passed_ms += max(0, ms)


class PacedClock(SimulatedClock):
    """Simulated time at the pace of real time: whoever lets it pass waits for it."""

    def advance(self, ms: int) -> None:
        time.sleep(max(0, ms) / 1000)
        super().advance(ms)
