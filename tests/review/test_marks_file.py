"""Marks beside a record: signed, chained, durable, and never in the record itself."""

import json
from pathlib import Path

import pytest

from companion.errors import RecordError, UsageError
from companion.record.canonical import canonical
from companion.record.purge import purge
from companion.record.reader import read_record
from companion.record.verify import records_in
from companion.review.marks_file import marks_beside, marks_path, read_marks, save_marks
from tests.record.making import UnsyncedFiles, clock, key
from tests.review.making import KNOWN, marks, record


def test_what_was_saved_is_read_and_the_record_stays_as_it_was(tmp_path: Path) -> None:
    found = record(tmp_path)
    before = found.path.read_bytes()
    saved = save_marks(found, marks(), 0, clock(), key())
    assert read_marks(found, "27", KNOWN) == saved
    assert (saved.marks, saved.revision, saved.known) == (marks(), 1, True)
    assert found.path.read_bytes() == before
    assert marks_path(found.path, "27").stat().st_mode & 0o777 == 0o600
    assert records_in(tmp_path) == [found.path], "it is no record itself"


def test_the_last_saving_counts_and_the_earlier_ones_stay(tmp_path: Path) -> None:
    found = record(tmp_path)
    save_marks(found, marks(rating=1), 0, clock(), key())
    save_marks(found, marks(rating=4), 1, clock(), key())
    saved = read_marks(found, "27", KNOWN)
    assert saved is not None and (saved.marks.rating, saved.revision) == (4, 2)
    lines = marks_path(found.path, "27").read_bytes().splitlines()
    assert [json.loads(line)["marks"]["rating"] for line in lines] == [1, 4]


@pytest.mark.parametrize("inside", [b"", b"somebody's letter\n", b"a letter without an end"])
def test_marks_are_never_saved_through_a_link(tmp_path: Path, inside: bytes) -> None:
    """Somebody laid a link where the marks would lie: saving once cut or overwrote what it pointed to."""
    found, letter = record(tmp_path), tmp_path / "letter.txt"
    letter.write_bytes(inside)
    marks_path(found.path, "27").symlink_to(letter)
    with pytest.raises(RecordError, match="marks-27"):
        save_marks(found, marks(), 0, clock(), key())
    assert letter.read_bytes() == inside


def test_two_markers_are_told_apart(tmp_path: Path) -> None:
    found = record(tmp_path)
    for marker in ("31", "27"):
        save_marks(found, marks(marker), 0, clock(), key())
    assert list(marks_beside(found.path)) == ["27", "31"]
    marks_path(found.path, "27").replace(marks_path(found.path, "28"))
    with pytest.raises(RecordError, match="line 1: it is another marker's"):
        read_marks(found, "28", KNOWN)
    assert read_marks(found, "27", KNOWN) is None


def test_every_byte_flipped_is_found(tmp_path: Path) -> None:
    found = record(tmp_path)
    for seen in (0, 1):
        save_marks(found, marks(rating=1 + seen), seen, clock(), key())
    path = marks_path(found.path, "27")
    whole = path.read_bytes()
    for place in range(len(whole) - 1):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        with pytest.raises(RecordError, match="damaged or changed"):
            read_marks(found, "27", KNOWN)


def test_marks_of_another_record_are_refused(tmp_path: Path) -> None:
    one, other = record(tmp_path, 6), record(tmp_path, 7)
    save_marks(one, marks(), 0, clock(), key())
    marks_path(one.path, "27").replace(marks_path(other.path, "27"))
    with pytest.raises(RecordError, match="about another record"):
        read_marks(other, "27", KNOWN)


def test_another_key_is_said_to_be_unknown(tmp_path: Path) -> None:
    found = record(tmp_path)
    save_marks(found, marks(), 0, clock(), key(9))
    saved = read_marks(found, "27", KNOWN)
    assert saved is not None and not saved.known


def test_a_signature_by_nobody_is_refused(tmp_path: Path) -> None:
    found = record(tmp_path)
    save_marks(found, marks(), 0, clock(), key())
    path = marks_path(found.path, "27")
    value = json.loads(path.read_bytes())
    path.write_bytes(canonical({**value, "public_key": key(9).public}) + b"\n")
    with pytest.raises(RecordError, match="signature is wrong"):
        read_marks(found, "27", KNOWN)


def test_what_was_never_finished_was_never_saved(tmp_path: Path) -> None:
    found = record(tmp_path)
    save_marks(found, marks(rating=1), 0, clock(), key())
    path = marks_path(found.path, "27")
    whole = path.read_bytes()
    for cut in (1, 40, len(whole) - 1):
        path.write_bytes(whole + whole[:cut])
        saved = read_marks(found, "27", KNOWN)
        assert saved is not None and saved.revision == 1
        assert save_marks(found, marks(rating=2), 1, clock(), key()).revision == 2
        again = read_marks(found, "27", KNOWN)
        assert again is not None and again.marks.rating == 2


def test_somebody_who_saved_in_between_is_not_written_over(tmp_path: Path) -> None:
    found = record(tmp_path)
    save_marks(found, marks(rating=1), 0, clock(), key())
    with pytest.raises(UsageError, match="in the meantime"):
        save_marks(found, marks(rating=4), 0, clock(), key())


@pytest.mark.parametrize(
    "remark", ["Born 3 May 1971", "Mrs Miller, hospital number 4711223", "write to ann@ward.example"]
)
def test_a_remark_that_may_name_a_person_is_not_saved(tmp_path: Path, remark: str) -> None:
    found = record(tmp_path)
    with pytest.raises(UsageError, match="nobody is named in a remark"):
        save_marks(found, marks(remark=remark), 0, clock(), key())
    with pytest.raises(UsageError, match="the remark on `rub`"):
        save_marks(found, marks(items=[{"step": "rub", "remark": remark}]), 0, clock(), key())
    assert marks_beside(found.path) == {}


def test_an_open_record_is_not_marked(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="only a closed one can be marked"):
        save_marks(record(tmp_path, close=False), marks(), 0, clock(), key())


def test_a_disk_that_fails_is_said(tmp_path: Path) -> None:
    class Full(UnsyncedFiles):
        def write(self, fd: int, data: bytes) -> int:
            return super().write(fd, data[:20])

    class Broken(UnsyncedFiles):
        def sync(self, fd: int) -> None:
            raise OSError(5, "Input/output error")

    found = record(tmp_path)
    with pytest.raises(RecordError, match="only a part was written"):
        save_marks(found, marks(), 0, clock(), key(), Full())
    with pytest.raises(RecordError, match="Input/output error"):
        save_marks(found, marks(), 0, clock(), key(), Broken())


def test_purging_the_record_destroys_its_marks(tmp_path: Path) -> None:
    found = record(tmp_path)
    for marker in ("27", "31"):
        save_marks(found, marks(marker), 0, clock(), key())
    purge(found.path, "retention", clock(), key())
    assert [path.name for path in tmp_path.iterdir()] == [found.path.name]
    with pytest.raises(RecordError):
        read_record(found.path)
