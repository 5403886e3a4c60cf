"""Books of site histories with a clock that stands still."""

from datetime import UTC, datetime
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.record.files import DiskFiles, FileLayer
from companion.sites import read_place
from companion.sites.kept.books import Book, SiteBooks

NOON = datetime(2030, 1, 1, 12, tzinfo=UTC)


def clock() -> SimulatedClock:
    return SimulatedClock(NOON)


def books(folder: Path, files: FileLayer | None = None) -> SiteBooks:
    return SiteBooks(folder, clock(), files or DiskFiles())


def filled(folder: Path, *places: str) -> Book:
    """A new history with injections at `places`."""
    ours = books(folder)
    tag = ours.new()
    for place in places:
        ours.use(tag, read_place(place))
    return ours.read(tag)


def places_of(book: Book) -> list[str]:
    return [use.place for use in book.history.uses()]
