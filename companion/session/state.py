"""Where a session stands: everything the machine remembers between two events."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Literal, TypeVar

from companion.session.events import StepNote
from companion.session.timers import Timer
from companion.speech.values import Value

if TYPE_CHECKING:
    replace = dataclasses.replace
else:
    _Holder = TypeVar("_Holder")

    def replace(holder: _Holder, **changes: object) -> _Holder:
        """`dataclasses.replace`, ten times as fast, for classes without slots. A proof makes millions of states."""
        new = object.__new__(type(holder))
        new.__dict__.update(holder.__dict__)
        new.__dict__.update(changes)
        return new


Status = Literal["new", "naming", "running", "held", "restating", "leaving", "finished", "abandoned"]


class Phase(StrEnum):
    """How far a step has come."""

    ASK = "ask"
    READ_BACK = "read back"
    DIGITS = "digits"
    """Asked again, now also digit by digit."""
    FIGURE = "figure"
    """The second person is known, and asked for their figure."""
    AGAIN = "again"
    """A figure under seal is said once more."""
    OPENING = "opening"
    """The seals are opened."""
    READY = "ready"
    """Its time is up."""


@dataclass(frozen=True)
class Here:
    """What the present step remembers. A step that is asked afresh starts with a new one."""

    phase: Phase = Phase.ASK
    since_ms: int = 0
    """Session time from which this step's own clock counts."""
    item: int = 0
    pending: Value | None = None
    pending_phrase: str = ""
    seal: str = ""
    tag: str = ""
    misses: int = 0
    """Replies here that were not clear."""
    row: int = 0
    """Utterances not taken in a row, whyever: see `machine.asking`."""
    silences: int = 0
    asked_back: tuple[str, ...] = ()
    """The phrases of which is asked now whether they were meant; several answer what the step asks in turn."""
    was_asked: tuple[str, ...] = ()
    """The phrases that were asked back last, which are not asked twice in a row."""
    bare: bool = False
    """A mere yes or no was answered here already."""


@dataclass(frozen=True)
class Frame:
    """A place in a list of steps: the main ones (`branch` None) or those of a branch."""

    branch: str | None
    index: int
    back_from: tuple[str, ...] = ()
    """The branches that were taken at this step and have come back to it."""
    broken_off: bool = False
    """A branch was taken during a break, before the last confirmed step was confirmed again."""


LEFT_OUT = "left out"
"""The note of a step that was left out: a record, also one of before, tells it by this alone."""


@dataclass(frozen=True)
class Done:
    """A step that has been confirmed, or left out."""

    step: str
    branch: str | None
    phrase: str
    at_ms: int
    note: str = ""
    """Empty, `late`, `LEFT_OUT`, or `confirmed after` the branch that an alert led to."""


@dataclass(frozen=True)
class State:
    """Frozen; equal states are equal values, so a folded record can be compared with a live session."""

    status: Status = "new"
    performer: str = ""
    checker: str = ""
    today: str = ""
    mode: str = "rehearsal"
    notes: tuple[StepNote, ...] = ()
    """What is said in this session whenever a step is asked: the first of each step's."""
    at_ms: int = 0
    frames: tuple[Frame, ...] = ()
    here: Here = field(default_factory=Here)
    values: Mapping[str, Value] = field(default_factory=dict)
    seals: Mapping[str, str] = field(default_factory=dict)
    """Seal of each figure that is given and not yet opened, by step id."""
    done: tuple[Done, ...] = ()
    entered: Mapping[str, int] = field(default_factory=dict)
    """How often each branch that is limited was taken."""
    fired: frozenset[Timer] = frozenset()
    """Timers that have run out and been told."""
    outcome: str = ""
    """Why it was abandoned; empty otherwise."""
    before: "State | None" = None
    """Where it stood before own words were taken, as long as they can be taken back."""

    @property
    def ended(self) -> bool:
        return self.status in ("finished", "abandoned")

    def note(self, step_id: str) -> StepNote | None:
        """The note of a step that is said now."""
        return next((note for note in self.notes if note.step == step_id), None)

    def done_at(self, step_id: str) -> int | None:
        """When a step was last confirmed, or None."""
        for entry in reversed(self.done):
            if entry.step == step_id:
                return entry.at_ms
        return None
