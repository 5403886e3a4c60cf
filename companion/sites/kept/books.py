"""Site histories on disk, one file a tag, append-only: a note is durable before it is acknowledged."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from companion import places
from companion.errors import CompanionError, EventRefused, RecordError
from companion.ports.clock import Clock
from companion.record.files import DiskFiles, FileLayer, add
from companion.sites.history import Avoided, Fit, History, Reason, SiteEvent, Undone, Used
from companion.sites.kept.lines import Found, event_line, opening_line, read_lines
from companion.sites.kept.tags import new_tag, read_tag
from companion.sites.place import Place

_DISK = DiskFiles()
_TRIES = 200


@dataclass(frozen=True)
class Book:
    """What is known under a tag. Where `damage` is not empty, an injection may be missing from `history`."""

    tag: str
    path: Path
    history: History
    damage: tuple[str, ...]


def own_books(clock: Clock) -> "SiteBooks":
    """The histories this machine keeps."""
    return SiteBooks(places.home() / "sites", clock)


class SiteBooks:
    """The histories of a folder. Nothing is held open between two calls."""

    def __init__(self, folder: Path, clock: Clock, files: FileLayer = _DISK) -> None:
        self._folder = folder
        self._clock = clock
        self._files = files

    def today(self) -> date:
        """The day on the ward's wall."""
        return self._clock.utc().astimezone().date()

    def new(self) -> str:
        """Begin a history and return its tag; the file is durable then. Raises RecordError."""
        try:
            self._files.make_folder(self._folder)
            tag, fd = self._fresh()
            try:
                add(self._files, fd, opening_line(tag, self._clock.utc()))
                self._files.sync_folder(self._folder)
            except OSError:
                self._files.remove(self._path(tag))  # nobody was told of it
                raise
            finally:
                self._files.close(fd)
        except OSError as fault:
            raise RecordError(f"{self._folder}: no site history can be begun here ({fault.strerror})") from fault
        return tag

    def read(self, tag: str) -> Book:
        """The history under `tag`. Raises UsageError for what is no tag, RecordError where nothing can be read."""
        digits = read_tag(tag)
        with self._open(digits) as (path, fd):
            found = self._found(path, digits, fd)
        return _book(path, found)

    def use(self, tag: str, place: Place, day: date | None = None) -> Book:
        """Note an injection, today unless `day` says otherwise. Raises as `read`, and EventRefused."""
        return self.note(tag, Used(day=day or self.today(), place=place.code))

    def avoid(self, tag: str, place: Place, reason: Reason, day: date | None = None) -> Book:
        """Note that a zone, part or spot is to be avoided, and why. Raises as `read`, and EventRefused."""
        return self.note(tag, Avoided(day=day or self.today(), place=place.code, reason=reason))

    def fit(self, tag: str, place: Place) -> Book:
        """Note that what was avoided in `place` may be used again. Raises as `read`, and EventRefused."""
        return self.note(tag, Fit(day=self.today(), place=place.code))

    def undo(self, tag: str) -> Book:
        """Take back the last note that stands; both stay in the file. Raises as `read`, and EventRefused."""
        return self._append(tag, None)

    def note(self, tag: str, event: SiteEvent) -> Book:
        """Write an event down; it is durable on return. Raises as `read`, and EventRefused."""
        return self._append(tag, event)

    def _append(self, tag: str, event: SiteEvent | None) -> Book:
        digits = read_tag(tag)
        with self._open(digits) as (path, fd):
            if not self._files.lock(fd):
                raise RecordError(f"{path}: another program is writing this history; try again when it has ended")
            found = self._found(path, digits, fd)
            taken = event or Undone(day=self.today(), undoes=_last_standing(found.history))
            if taken.day > self.today():
                raise EventRefused(f"{taken.day.isoformat()} is still to come; accepted: today or an earlier day")
            n = found.last + 1
            history = found.history.taking(taken, n)
            # What was left of an unfinished line is closed, not cut away: nothing in the file is ever changed.
            start = b"" if found.ended else b"\n"
            try:
                add(self._files, fd, start + event_line(n, taken, self._clock.utc()))
            except OSError as fault:
                raise RecordError(
                    f"{path}: the note could not be made durable ({fault.strerror}); look whether it stands there "
                    "before noting it again"
                ) from fault
        return Book(digits, path, history, found.damage)

    def _fresh(self) -> tuple[str, int]:
        for _ in range(_TRIES):
            tag = new_tag()
            try:
                return tag, self._files.create(self._path(tag))
            except FileExistsError:
                continue
        raise RecordError(f"{self._folder}: too many histories are kept here; take old ones away first")

    def _path(self, digits: str) -> Path:
        return self._folder / f"{digits}.jsonl"

    @contextmanager
    def _open(self, digits: str) -> Iterator[tuple[Path, int]]:
        path = self._path(digits)
        try:
            fd = self._files.open(path)
        except FileNotFoundError as fault:
            raise RecordError(f"tag {digits}: nothing is kept under it in {self._folder}") from fault
        except OSError as fault:
            raise RecordError(f"{path}: this site history cannot be opened ({fault.strerror})") from fault
        try:
            yield path, fd
        finally:
            self._files.close(fd)

    def _found(self, path: Path, digits: str, fd: int) -> Found:
        try:
            found = read_lines(self._files.read(fd))
        except OSError as fault:
            raise RecordError(f"{path}: this site history cannot be read ({fault.strerror})") from fault
        except CompanionError as fault:
            raise RecordError(f"{path}: {fault}") from fault
        if found.tag != digits:
            raise RecordError(f"{path}: the history in it was begun under tag {found.tag}; the file was renamed")
        return found


def _last_standing(history: History) -> int:
    standing = history.standing()
    if not standing:
        raise EventRefused("nothing has been noted here that could be undone")
    return standing[-1].n


def _book(path: Path, found: Found) -> Book:
    return Book(found.tag, path, found.history, found.damage)
