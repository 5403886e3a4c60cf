"""What a record tells, once it is folded: the moments of a session, and the steps that stand at its end."""

from dataclasses import dataclass, field

from companion.procedure.model import Procedure
from companion.session.events import AnyEvent, Missed, Replied
from companion.session.findings import Judgement
from companion.session.state import State, Status

GUIDED, REHEARSED = "guided", "from memory"
"""The two ways of a session."""


@dataclass(frozen=True)
class Uttered:
    """One utterance of a rehearsal. Times are session time."""

    text: str
    from_ms: int
    until_ms: int
    by: str
    """`voice` or `key`."""


@dataclass(frozen=True)
class Moment:
    """One entry of the record, told."""

    at_ms: int
    step: str
    """Id of the step that was up when it happened; empty before the first."""
    heard: str
    """What was heard or happened, in words."""
    decided: str
    """What followed."""
    says: tuple[str, ...]
    n: int
    """Number of the entry."""
    event: AnyEvent | None
    """The event; None for entries of another kind."""
    uttered: Uttered | None = None
    """What the student said there in words of their own; None for everything else."""


@dataclass(frozen=True)
class Stood:
    """A step that stands confirmed or left out at the end, or that a rehearsal surely heard said."""

    step: str
    note: str
    """Empty, or what there is to say of it: late, left out, a finding; in which branch."""
    n: int
    """Number of the entry that confirmed it."""
    at_ms: int
    took_ms: int
    """Since the step before it was confirmed, or since the start."""
    left_out: bool = field(default=False, kw_only=True)
    """It was not done. Known from the note that the record holds (`state.LEFT_OUT`), wherever else it is told."""


@dataclass(frozen=True)
class Confirmed(Stood):
    """The same, with what was said there."""

    title: str
    phrases: tuple[str, ...] = ()
    """The replies that led there; a figure under seal is not among them, see `value`. Of a rehearsal, the utterance."""
    value: str = ""
    """What was given: a reading, or a figure once its seal was opened; empty for other steps."""
    by: str = ""
    """`voice`, `key`, or both."""
    engine: str = ""
    tries: int = 0
    """Replies to it that were not clearly heard."""


@dataclass(frozen=True)
class Course:
    """What a session came to: as much of it as is counted over many."""

    rehearsed: bool
    """Talked through in the student's own words, rather than guided."""
    mode: str
    performer: str
    """The performer's tag; empty when none was given before the session broke off."""
    status: Status
    """Of a rehearsal, that of a session that never began."""
    took_ms: int
    ended_by: int | None
    """Number of the entry that ended the session; None while it goes on."""
    due: tuple[str, ...]
    """Ids of the steps that were up at some time, or due from memory, each once."""
    confirmed: tuple[Stood, ...]
    again: tuple[str, ...] = ()
    """Ids of steps each time one had to be done again."""
    unclear: tuple[tuple[str, Missed], ...] = ()
    """What was not clearly heard, with the id of the step that was up."""
    replied: tuple[tuple[str, Replied], ...] = ()
    judgement: Judgement | None = None
    """What was made of a rehearsal; None while it is not judged."""

    @property
    def way(self) -> str:
        """`guided` or `from memory`."""
        return REHEARSED if self.rehearsed else GUIDED


@dataclass(frozen=True, kw_only=True)
class Timeline(Course):
    """A whole session."""

    procedure: Procedure
    state: State
    """Of a rehearsal, that of a session that never began: it has no events."""
    moments: tuple[Moment, ...]
    confirmed: tuple[Confirmed, ...]
