"""Links, pipes, devices and endless names beside and in place of records: refused in a sentence, and never followed.

Each case was found by laying such a thing there by hand; flags and errors are those of POSIX open(2)."""

import os
import shutil
from pathlib import Path

import pytest

from companion import places
from companion.cli.progress import sittings
from companion.errors import RecordError
from companion.plainfiles import open_plain, read_plain
from companion.record.clips import ClipBox, destroy_clips, sound_folder
from companion.record.keys import own_key
from companion.record.parcel import new_identity, pack
from companion.record.purge import older_than, purge
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from companion.review.marks_file import marks_path, read_marks, save_marks
from tests.commands import inside
from tests.record.making import START, clock, key, written
from tests.review.making import KNOWN, marks
from tests.review.making import record as marked

pytestmark = pytest.mark.skipif(os.name != "posix", reason="links, pipes and devices of POSIX")


@pytest.fixture
def docs(tmp_path: Path) -> Path:
    """Somebody's letters, which no command has any business with."""
    folder = tmp_path / "docs"
    (folder / "more").mkdir(parents=True)
    (folder / "letter.txt").write_text("a letter", encoding="utf-8")
    (folder / "more" / "0001.flac").write_text("not ours", encoding="utf-8")
    return folder


def unharmed(docs: Path) -> bool:
    kept = {path.name: path.read_text(encoding="utf-8") for path in docs.rglob("*") if path.is_file()}
    return kept == {"letter.txt": "a letter", "0001.flac": "not ours"}


def laid(path: Path, what: str, docs: Path) -> None:
    match what:
        case "link":
            path.symlink_to(docs / "letter.txt")
        case "endless":
            path.symlink_to("/dev/zero")
        case "pipe":
            os.mkfifo(path)
        case "folder":
            path.mkdir()


@pytest.mark.parametrize("what", ["link", "endless", "pipe", "folder"])
def test_only_a_plain_file_is_read(tmp_path: Path, docs: Path, what: str) -> None:
    laid(tmp_path / "odd.jsonl", what, docs)
    with pytest.raises(OSError, match=r"a link|a folder or device"):
        read_plain(tmp_path / "odd.jsonl", 100)
    finding = verify(tmp_path / "odd.jsonl", None, ())
    assert finding.state == "unreadable" and "cannot be read" in finding.reason
    with pytest.raises(RecordError, match=r"odd\.jsonl"):
        RecordWriter.reopen(tmp_path / "odd.jsonl", clock(), key())
    with pytest.raises(RecordError, match=r"odd\.jsonl: cannot be purged"):
        purge(tmp_path / "odd.jsonl", "retention", clock(), key())
    assert unharmed(docs)


def test_what_is_too_large_is_not_read_at_all(tmp_path: Path) -> None:
    with (tmp_path / "holes").open("wb") as file:
        file.truncate(1 << 40)
    with pytest.raises(OSError, match="larger than 100 bytes"):
        read_plain(tmp_path / "holes", 100)
    assert "larger than 512 MB" in verify(tmp_path / "holes", None, ()).reason


@pytest.mark.parametrize("name", ["n" * 300, "a\0b"])
def test_a_name_that_no_file_can_have(name: str) -> None:
    with pytest.raises(OSError):
        open_plain(name)
    assert verify(Path(name), None, ()).state == "unreadable"


@pytest.mark.parametrize("what", ["link", "endless", "pipe", "folder"])
def test_one_bad_file_in_a_folder_holds_up_nothing(
    tmp_path: Path, docs: Path, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "records"
    good = written(folder / "good.jsonl", 3).path
    laid(folder / "bad.jsonl", what, docs)
    due = older_than(folder, 0, START.replace(year=2040))
    assert due.records == (good,) and len(due.unread) == 1 and "bad.jsonl" in due.unread[0]
    assert list(sittings(folder, "")) == [] and "bad.jsonl" in capsys.readouterr().err


def test_an_entry_of_no_date_holds_up_no_retention(tmp_path: Path) -> None:
    """2030-99-99 fits the form of RFC 3339, 5.6, and is no date."""
    own = own_key(places.keys())
    good, bad = written(tmp_path / "good.jsonl", 3, own).path, written(tmp_path / "bad.jsonl", 3, own).path
    first, *rest = bad.read_bytes().splitlines(keepends=True)
    bad.write_bytes(first + rest[0].replace(b'"utc":"2031-03-04', b'"utc":"2030-99-99') + rest[1])
    assert "line 2: its time 2030-99-99T" in verify(bad, None, ()).sentence()
    bad.write_bytes(first.replace(b'"utc":"2031-03-04', b'"utc":"2030-99-99'))
    due = older_than(tmp_path, 1, START.replace(year=2040))
    assert due.records == (good,) and "is no date; left as it is" in due.unread[0]


@pytest.mark.parametrize("linked", [True, False])
def test_resuming_and_purging_destroy_clips_alone_and_follow_no_link(tmp_path: Path, docs: Path, linked: bool) -> None:
    path = written(tmp_path / "one.jsonl", 3).path
    beside = sound_folder(path)
    if linked:
        beside.symlink_to(docs)
        with pytest.raises(OSError, match="a link"):
            ClipBox(path).keep_only(())
        with pytest.raises(OSError, match="a link"):
            destroy_clips(path)
        assert verify(path, None, KNOWN).state == "sound"
    else:
        shutil.copytree(docs, beside)
        (beside / "0001.flac").write_text("a clip", encoding="utf-8")
        ClipBox(path).keep_only(())
        assert sorted(each.name for each in beside.iterdir()) == ["letter.txt", "more"]
        (beside / "0002.flac").write_text("a clip", encoding="utf-8")
        (tmp_path / "one.jsonl.other").mkdir()
        (tmp_path / "one.jsonl.other" / "letter.txt").write_text("a letter", encoding="utf-8")
        purge(path, "retention", clock(), key())
        assert sorted(each.name for each in beside.iterdir()) == ["letter.txt", "more"]
        assert (tmp_path / "one.jsonl.other" / "letter.txt").read_text(encoding="utf-8") == "a letter"
    assert unharmed(docs)


def test_saving_marks_writes_through_no_link(tmp_path: Path, docs: Path) -> None:
    record = marked(tmp_path)
    for target in (docs / "letter.txt", docs / "empty"):
        (docs / "empty").touch()
        marks_path(record.path, "27").symlink_to(target)
        with pytest.raises(RecordError, match="cannot be saved"):
            save_marks(record, marks(), 0, clock(), key())
        with pytest.raises(RecordError, match="cannot be read"):
            read_marks(record, "27", KNOWN)
        assert (docs / "empty").read_bytes() == b""
        (docs / "empty").unlink()
        marks_path(record.path, "27").unlink()
    marks_path(record.path, "27").hardlink_to(docs / "letter.txt")  # a line without an end that is none of ours
    with pytest.raises(RecordError, match="left as it is"):
        save_marks(record, marks(), 0, clock(), key())
    assert unharmed(docs)


def test_sound_that_is_no_plain_file_is_put_into_no_parcel(tmp_path: Path, docs: Path) -> None:
    path = written(tmp_path / "one.jsonl", 3).path
    sound_folder(path).mkdir()
    (sound_folder(path) / "0001.flac").symlink_to(docs / "letter.txt")
    public = new_identity(tmp_path / "key.txt")
    with pytest.raises(RecordError, match="the sound cannot be read"):
        pack(path, [public], tmp_path / "one.age")


def test_a_record_is_not_purged_by_a_link_to_it(tmp_path: Path) -> None:
    own = own_key(places.keys())
    path = written(tmp_path / "one.jsonl", 3, own).path
    (tmp_path / "link.jsonl").symlink_to(path)
    with pytest.raises(RecordError, match="it is a link"):
        inside("record", "purge", str(tmp_path / "link.jsonl"), "--yes")
    assert verify(path).state == "intact"
