"""The course of a guided session: what stands at the end, how long it took, what was up, done again and misheard.

It is made here alone, of what each event changed. Where the machine is at hand it says so (`timeline`); else the
entries do, as the machine of their day told them.
"""

from collections import Counter

from companion.machine.decided import Came, Change, told
from companion.record.reader import Read
from companion.review.told import Course, Stood
from companion.session.events import AnyEvent, Missed, Replied, Started
from companion.session.state import LEFT_OUT, Status

EVENT = "event"
"""Kind of the entries that hold an event."""


class Fold:
    """Takes events in their order."""

    def __init__(self) -> None:
        self.up = ""
        """Id of the step that is up; empty when none is."""
        self.tries: Counter[str] = Counter()
        """Replies that were not clearly heard, by the step that was up."""
        self._status: Status = "new"
        self._mode, self._performer = "rehearsal", ""
        self._at_ms = 0
        self._ended_by: int | None = None
        self._stood: list[tuple[int, int, Came]] = []
        self._due: dict[str, None] = {}
        self._again: list[str] = []
        self._unclear: list[tuple[str, Missed]] = []
        self._replied: list[tuple[str, Replied]] = []

    def take(self, n: int, event: AnyEvent, change: Change) -> None:
        """The event of entry `n`, and what it changed."""
        if isinstance(event, Started):
            self._mode, self._performer = event.mode, event.performer
        elif isinstance(event, Missed) and event.why == "unclear":
            self._unclear.append((self.up, event))
            self.tries[self.up] += 1
        elif isinstance(event, Replied):
            self._replied.append((self.up, event))
        if change.undone:
            self._again += change.undone
            self._stood = [each for each in self._stood if each[2].step not in change.undone]
        self._stood += [(n, event.at_ms, done) for done in change.done]
        self._status, self._at_ms = change.status, event.at_ms
        self._performer = change.performer or self._performer
        if self._ended_by is None and change.status in ("finished", "abandoned"):
            self._ended_by = n
        self.up = change.step
        if change.step:
            self._due[change.step] = None

    def course(self) -> Course:
        """What has come of it so far."""
        since = (0, *(at_ms for _, at_ms, _ in self._stood))
        return Course(
            rehearsed=False,
            mode=self._mode,
            performer=self._performer,
            status=self._status,
            took_ms=self._at_ms,
            ended_by=self._ended_by,
            due=tuple(self._due),
            confirmed=tuple(
                Stood(done.step, done.note, n, at_ms, took_ms=at_ms - before, left_out=done.note == LEFT_OUT)
                for (n, at_ms, done), before in zip(self._stood, since, strict=False)
            ),
            again=tuple(self._again),
            unclear=tuple(self._unclear),
            replied=tuple(self._replied),
        )


def course_as_told(record: Read) -> Course | None:
    """The course by what the entries tell; None where they do not, as those of before. Raises ValueError for what no
    session writes."""
    fold, decided = Fold(), False
    for entry in record.entries:
        if entry.kind == EVENT:
            change = told(entry.body)
            if change is None:
                return None
            fold.take(entry.n, change.event, change)
            decided = decided or bool(change.done)
    course = fold.course()
    return course if decided or not course.replied else None
