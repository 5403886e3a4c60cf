"""What every export starts from: a record that verifies, and its timeline."""

import uuid
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from companion import places
from companion.errors import UsageError
from companion.record.entry import CLOSED, OPENED, Entry
from companion.record.reader import Record, read_record
from companion.record.trusted import known_keys
from companion.record.verify import Finding, verify
from companion.review.marks import Marks
from companion.review.marks_file import Saved, marks_path, read_all_marks
from companion.review.timeline import timeline
from companion.review.told import Timeline
from companion.review.verdict import Verdict, in_words, verdict

CAUTION = (
    "A training aid, not a medical device and not the health record. Local policy and licensed judgement come first."
)
REHEARSAL = "Rehearsal: nobody was treated. Test data."


@dataclass(frozen=True)
class Source:
    """One record, read and folded."""

    record: Record
    told: Timeline
    finding: Finding
    """What verification says with the keys this machine knows."""
    marks: tuple[Saved, ...] = ()
    """Educators' marks beside the record that verify and are signed with a key this machine knows."""
    left_out: tuple[str, ...] = ()
    """A sentence for each file of marks that is not among them, with its path."""
    strange_marks: tuple[str, ...] = ()
    """A sentence for each of those that is signed with a key this machine does not know, without its path."""
    trusted: bool = True
    """Whether this machine knows the key the record was made with."""

    @property
    def notices(self) -> tuple[str, ...]:
        """What has to be said of the whole wherever it is told: a rehearsal, unfinished, by a stranger."""
        said = (REHEARSAL if self.rehearsal else "", self.unfinished, self.stranger, *self.strange_marks)
        return tuple(each for each in said if each)

    @property
    def opened(self) -> Entry:
        return self.record.entries[0]

    @property
    def last(self) -> Entry:
        return self.record.entries[-1]

    @property
    def closing(self) -> Entry | None:
        """The signed last entry, or None while the record is open."""
        return self.last if self.last.kind == CLOSED else None

    @property
    def session(self) -> uuid.UUID:
        """The session's id, random and fixed by the first entry."""
        return uuid.UUID(self.opened.session)

    @property
    def signer(self) -> str:
        """Short name of the key that signs: it stands for the machine, and for the ward that gives out the tags."""
        return str(self.opened.body["key_id"])

    @property
    def made_with(self) -> str:
        """Whether its key is known here, and which it is."""
        return f"{'known' if self.trusted else 'unknown'} key {self.signer}"

    @property
    def program(self) -> str:
        return f"procedure-companion {self.opened.body['program_version']}"

    @property
    def rehearsal(self) -> bool:
        return self.told.mode == "rehearsal"

    @cached_property
    def verdict(self) -> Verdict:
        """What became of it, with what the educators decided."""
        return verdict(self.told, [each.marks for each in self.marks])

    @property
    def outcome(self) -> str:
        """How it ended, in words."""
        found = self.verdict.outcome
        if found == "finished":
            return "finished and signed"
        if found == "abandoned":
            return f"abandoned: {self.told.state.outcome}"
        return "undecided: the educator decides" if found == "undecided" else in_words(found)

    @property
    def unfinished(self) -> str:
        """One sentence for a session that has not ended or a record that is not closed; empty otherwise."""
        if self.told.ended_by is None:
            if self.told.rehearsed:
                return "Unfinished: this rehearsal broke off before it was judged, and is not gone on with."
            return "Unfinished: this session was not ended; more may be added to its record."
        if self.closing is None:
            return "Unfinished: this record was not closed, so it is not signed."
        return ""

    @property
    def stranger(self) -> str:
        """One sentence for a record that was made with a key this machine does not know; empty otherwise."""
        if self.trusted:
            return ""
        return f"Made with the {self.made_with}: anybody may have written it. See: companion record trust."

    @property
    def verification(self) -> str:
        """What verification says, without the path of the file."""
        return f"{self.finding.reason}; {self.finding.meaning}"

    def without_talk(self, what: str) -> None:
        """Raises UsageError where it was only talked through: nothing was done that `what` could tell of."""
        if self.told.rehearsed:
            raise UsageError(
                f"{self.record.path}: a rehearsal in the student's own words: nothing was done or given, so there is "
                f"no {what} of it; accepted: captions, chapters, xapi, csv, parquet, summary"
            )

    def marks_of(self, marker: str) -> Marks | None:
        """What that marker saved last, where it is believed."""
        return next((each.marks for each in self.marks if each.marks.marker == marker), None)

    def entry(self, n: int) -> Entry:
        """The entry of that number."""
        return self.record.entries[n]


def load_source(path: Path, known: Collection[str] | None = None) -> Source:
    """Read, verify and fold the record at `path`. `known` are public keys, this machine's when not given.

    Raises RecordError in plain words when the record cannot be believed, was purged, or holds no session.
    """
    record = read_record(path)
    assert record.entries[0].kind == OPENED  # the reader hands out nothing else
    keys = known_keys(places.keys()) if known is None else known
    marks, faults = read_all_marks(record, keys)
    strange = [each for each in marks if not each.known]
    signed = [f"signed with the unknown key {each.signer}" for each in strange]
    paths = [marks_path(path, each.marks.marker) for each in strange]
    believed = tuple(each for each in marks if each.known)
    return Source(
        record,
        timeline(record),
        verify(path, None, keys),
        believed,
        (*faults, *(f"{where}: {how}" for where, how in zip(paths, signed, strict=True))),
        tuple(f"Left out: marks by {each.marks.marker}, {how}." for each, how in zip(strange, signed, strict=True)),
        record.opening["public_key"] in keys,
    )
