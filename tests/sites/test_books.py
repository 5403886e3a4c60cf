"""Site histories on disk: what they hold, who may read them, and what is refused."""

import errno
import os
import stat
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from random import Random

import pytest

from companion.errors import EventRefused, RecordError, UsageError
from companion.record.files import DiskFiles
from companion.sites import read_place
from companion.sites.kept import books as module
from companion.sites.kept.books import Book, SiteBooks, own_books
from companion.sites.kept.tags import check_digit
from tests.record.weak_disk import WeakDisk
from tests.sites.making import NOON, books, clock, filled, places_of

SPOT = read_place("left-abdomen/upper-6-3")


def test_a_note_is_there_when_it_is_read_again(tmp_path: Path) -> None:
    book = filled(tmp_path, "left-abdomen/upper-6-3", "left-thigh")
    again = books(tmp_path).read(book.tag)
    assert places_of(again) == ["left-abdomen/upper-6-3", "left-thigh"]
    assert (again.damage, again.path) == ((), tmp_path / f"{book.tag}.jsonl")
    assert {use.day for use in again.history.uses()} == {NOON.astimezone().date()}


def test_what_is_acknowledged_is_what_a_reader_finds(tmp_path: Path) -> None:
    ours = books(tmp_path)
    tag = ours.new()
    notes: tuple[Callable[[], Book], ...] = (
        lambda: ours.use(tag, SPOT),
        lambda: ours.avoid(tag, read_place("left-thigh"), "scar"),
        lambda: ours.avoid(tag, read_place("right-thigh/upper"), "device"),
        lambda: ours.fit(tag, read_place("left-thigh")),
        lambda: ours.undo(tag),
        lambda: ours.undo(tag),
    )
    for note in notes:
        assert note() == books(tmp_path).read(tag)
    end = books(tmp_path).read(tag).history
    assert [each.place for each in end.avoided()] == ["left-thigh"]  # the fit and the second avoid were taken back
    assert len(end.noted) == 6  # nothing is ever removed


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no mode bits")
def test_only_the_owner_may_read_it(tmp_path: Path) -> None:
    old = os.umask(0)
    try:
        book = filled(tmp_path / "made" / "here", "left-thigh")
    finally:
        os.umask(old)
    assert stat.S_IMODE(book.path.stat().st_mode) == 0o600
    assert stat.S_IMODE(book.path.parent.stat().st_mode) == 0o700


def test_it_lies_in_the_program_s_own_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    tag = own_books(clock()).new()
    assert (tmp_path / "sites" / f"{tag}.jsonl").is_file()


def test_nothing_but_places_days_and_reasons_is_kept(tmp_path: Path) -> None:
    ours = books(tmp_path)
    tag = ours.new()
    ours.use(tag, SPOT)
    ours.avoid(tag, SPOT, "lump")
    ours.undo(tag)
    lines = (tmp_path / f"{tag}.jsonl").read_text().splitlines()
    day = NOON.astimezone().date().isoformat()
    assert [line.replace(tag, "TAG").replace(f'"day":"{day}"', '"day":"DAY"').split(",", 1)[1] for line in lines] == [
        '"kind":"opened","n":0,"tag":"TAG","utc":"2030-01-01T12:00:00.000Z","version":1}',
        '"day":"DAY","kind":"used","n":1,"place":"left-abdomen/upper-6-3","utc":"2030-01-01T12:00:00.000Z"}',
        '"day":"DAY","kind":"avoided","n":2,"place":"left-abdomen/upper-6-3","reason":"lump",'
        '"utc":"2030-01-01T12:00:00.000Z"}',
        '"day":"DAY","kind":"undone","n":3,"undoes":2,"utc":"2030-01-01T12:00:00.000Z"}',
    ]


def test_an_injection_may_be_noted_late_but_not_ahead(tmp_path: Path) -> None:
    ours = books(tmp_path)
    tag = ours.new()
    assert ours.use(tag, SPOT, date(2029, 12, 24)).history.uses()[0].day == date(2029, 12, 24)
    with pytest.raises(EventRefused, match="2030-01-03 is still to come; accepted: today or an earlier day"):
        ours.use(tag, SPOT, date(2030, 1, 3))
    assert len(ours.read(tag).history.noted) == 1


def test_what_is_refused_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    book = filled(tmp_path)
    before = book.path.read_bytes()
    with pytest.raises(EventRefused, match="nothing has been noted here that could be undone"):
        books(tmp_path).undo(book.tag)
    with pytest.raises(EventRefused, match="nothing in it is being avoided"):
        books(tmp_path).fit(book.tag, SPOT)
    assert book.path.read_bytes() == before


def test_an_unknown_tag_is_told_from_a_wrong_one(tmp_path: Path) -> None:
    unknown = "0000" + check_digit("0000")
    with pytest.raises(RecordError, match=f"tag {unknown}: nothing is kept under it in "):
        books(tmp_path).read(unknown)
    with pytest.raises(UsageError, match="two are swapped"):
        books(tmp_path).read("00001")
    assert list(tmp_path.iterdir()) == []  # reading makes nothing


def test_a_renamed_file_is_not_taken_for_another_history(tmp_path: Path) -> None:
    book = filled(tmp_path, "left-thigh")
    digits = f"{(int(book.tag[:4]) + 1) % 10_000:04}"
    other = digits + check_digit(digits)
    book.path.rename(tmp_path / f"{other}.jsonl")
    with pytest.raises(RecordError, match=f"begun under tag {book.tag}; the file was renamed"):
        books(tmp_path).read(other)


def test_two_writers_do_not_write_at_once(tmp_path: Path) -> None:
    book = filled(tmp_path, "left-thigh")
    files = DiskFiles()
    fd = files.open(book.path)
    try:
        assert files.lock(fd)
        with pytest.raises(RecordError, match="another program is writing this history"):
            books(tmp_path).use(book.tag, SPOT)
        assert places_of(books(tmp_path).read(book.tag)) == ["left-thigh"]  # reading still works
    finally:
        files.close(fd)
    books(tmp_path).use(book.tag, SPOT)


def test_a_new_history_never_takes_a_tag_in_use(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = iter(["00000", "00000", "00013"])
    monkeypatch.setattr(module, "new_tag", lambda: next(drawn))
    ours = books(tmp_path)
    assert [ours.new(), ours.new()] == ["00000", "00013"]
    monkeypatch.setattr(module, "new_tag", lambda: "00000")
    with pytest.raises(RecordError, match="too many histories are kept here"):
        ours.new()


class Failing(WeakDisk):
    """A disk in memory whose next call of a kind fails."""

    def __init__(self, call: str, short: bool = False) -> None:
        super().__init__(Random(0))
        self.call = call
        self.short = short
        self.armed = False

    def write(self, fd: int, data: bytes) -> int:
        self._fail("write")
        return super().write(fd, data[:-3] if self.short and self.armed else data)

    def sync(self, fd: int) -> None:
        self._fail("sync")
        super().sync(fd)

    def sync_folder(self, folder: Path) -> None:
        self._fail("sync_folder")
        super().sync_folder(folder)

    def read(self, fd: int) -> bytes:
        self._fail("read")
        return super().read(fd)

    def _fail(self, call: str) -> None:
        if self.armed and call == self.call:
            raise OSError(errno.EIO, os.strerror(errno.EIO))


@pytest.mark.parametrize("call", ["write", "sync", "read"])
def test_a_failing_disk_is_one_sentence_and_no_acknowledgement(call: str) -> None:
    disk = Failing(call)
    ours = SiteBooks(Path("/sites"), clock(), disk)
    tag = ours.new()
    disk.armed = True
    with pytest.raises(RecordError, match=rf"{tag}\.jsonl: .*{os.strerror(errno.EIO)}") as refused:
        ours.use(tag, SPOT)
    assert "\n" not in str(refused.value)
    assert disk.open_files == {}


@pytest.mark.parametrize("call", ["write", "sync", "sync_folder"])
def test_a_history_that_could_not_be_begun_leaves_nothing(call: str) -> None:
    disk = Failing(call)
    disk.armed = True
    with pytest.raises(RecordError, match="no site history can be begun here"):
        SiteBooks(Path("/sites"), clock(), disk).new()
    assert disk.nodes == {}
    assert disk.open_files == {}


def test_a_full_disk_is_said_and_the_rest_of_the_line_does_no_harm() -> None:
    disk = Failing("none", short=True)
    ours = SiteBooks(Path("/sites"), clock(), disk)
    tag = ours.new()
    ours.use(tag, SPOT)
    disk.armed = True
    with pytest.raises(RecordError, match="is the disk full"):
        ours.use(tag, read_place("left-thigh"))
    disk.armed = False
    ours.use(tag, read_place("right-thigh"))
    book = ours.read(tag)
    assert places_of(book) == ["left-abdomen/upper-6-3", "right-thigh"]
    assert len(book.damage) == 1
