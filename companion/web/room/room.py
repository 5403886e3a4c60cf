"""The folder that is reviewed, and what the pages of the room share."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion import places
from companion.errors import RecordError, UsageError
from companion.exports.source import Source, load_source
from companion.ports.clock import Clock
from companion.record.keys import SigningKey
from companion.record.reader import Record, read_record
from companion.record.trusted import known_keys
from companion.review.cohort.base import Base
from companion.review.cohort.intake import LARGEST, Taken, take_in
from companion.review.marks import Marks
from companion.review.marks_file import Saved, save_marks
from companion.web.room.speaker import Speaker


class NotThere(UsageError):
    """No such session in the folder."""


class Room:
    """Used from the threads of the server; the base is lent to one of them at a time."""

    def __init__(self, folder: Path, base: Base, clock: Clock, key: SigningKey, speaker: Speaker | None = None) -> None:
        """`key` signs the marks."""
        self.folder = folder
        self.clock = clock
        self.speaker = speaker
        self._base = base
        self._key = key
        self._lock = threading.Lock()
        self.taken = Taken(0, 0, ())

    @contextmanager
    def base(self) -> Iterator[Base]:
        """The base, brought up to date with the folder."""
        with self._lock:
            self.taken = take_in(self._base)
            yield self._base

    def source(self, file: str) -> Source:
        """One session, read from its record and verified. `file` is looked up, never joined to a path: only what the
        folder lists under that very name is read. Raises NotThere and RecordError."""
        return load_source(self._path(file), known_keys(places.keys()))

    def record(self, file: str) -> Record:
        """The same without telling it. Raises the same."""
        return read_record(self._path(file))

    def _path(self, file: str) -> Path:
        path = next((path for path in self._listed() if path.name == file), None)
        if path is None:
            raise NotThere(f"there is no record of that name in {self.folder}")
        if path.stat().st_size > LARGEST:
            raise RecordError(f"{path}: larger than {LARGEST:,} bytes, which no session comes near; it is not shown")
        return path

    def mark(self, source: Source, marks: Marks, seen: int) -> Saved:
        """Save marks beside a record. Raises as `save_marks`, and UsageError for a step that the procedure lacks."""
        steps = {step.id for step in source.told.procedure.all_steps()}
        strange = next((item.step for item in marks.items if item.step not in steps), None)
        if strange is not None:
            raise UsageError(f"`{strange}` is no step of this procedure")
        return save_marks(source.record, marks, seen, self.clock, self._key)

    def _listed(self) -> list[Path]:
        try:
            return [path for path in self.folder.iterdir() if path.suffix == ".jsonl" and path.is_file()]
        except OSError as fault:
            raise RecordError(f"{self.folder}: this folder cannot be listed ({fault.strerror})") from fault
