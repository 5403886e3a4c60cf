"""When a clip may be written, and when it may not: the keeper with a real record, a real folder and events in turn."""

import errno
import os
from pathlib import Path

import numpy as np
import pytest

from companion.conversation.keeper import WITHDRAW, Keeper, may_be_kept
from companion.errors import RecordError
from companion.ports.recogniser import Hearing
from companion.ports.sound import Samples
from companion.record.clips import AGREEMENT, ClipBox, agreed_tags, clips_of, misfit_of_clips, sound_folder
from companion.record.files import DiskFiles
from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from companion.session.events import AskedBack, Missed, Opened, Replied, Sealed, TimeUp
from companion.session.state import State
from tests.record.making import OPENING, UnsyncedFiles, clock, key

HUM: Samples = (3000 * np.sin(np.arange(8000) / 9)).astype(np.int16)
ALONE = State(status="running", performer="41")
BOTH = State(status="running", performer="41", checker="52")
TIDY = Replied(at_ms=0, phrase="tray is tidy")

Heard = Replied | AskedBack | Missed | Sealed | Opened | TimeUp


class Table:
    """A record with a keeper, driven event by event."""

    def __init__(self, folder: Path, tags: tuple[str, ...] = ("41", "52"), box: ClipBox | None = None) -> None:
        self.writer = RecordWriter.create(folder / "one.jsonl", OPENING, clock(), key(), UnsyncedFiles())
        self.path = self.writer.path
        self.writer.append(AGREEMENT, {"state": "given", "tags": list(tags)}, 0)
        self.keeper = Keeper(box or ClipBox(self.path), self.writer, lambda: self.writer.last.n, tags)

    def writes(self, event: Heard) -> None:
        self.writer.append("event", {"event": event.model_dump(mode="json")}, 0)

    def takes(self, event: Heard, state: State = ALONE, secret: bool = False) -> str:
        self.writes(event)
        typed = isinstance(event, Replied) and event.by == "key"
        ended = self.keeper.took(event, state, None if typed or isinstance(event, Opened | TimeUp) else HUM, secret)
        for _ in range(5):
            self.keeper.settle(0)
        return ended

    def clips(self) -> list[str]:
        folder = sound_folder(self.path)
        return sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []

    def of(self) -> list[int]:
        return [clip.of for clip in clips_of(read_record(self.path).entries)]


def test_only_replies_and_what_was_asked_for_again(tmp_path: Path) -> None:
    table = Table(tmp_path)
    table.takes(Missed(at_ms=0, why="other"))
    table.takes(Replied(at_ms=0, phrase="tray is tidy", by="key"))
    table.takes(TimeUp(at_ms=0, timer="rub/least"))
    assert table.clips() == []
    table.takes(Missed(at_ms=0, why="unclear"))
    table.takes(TIDY)
    assert (table.clips(), table.of()) == (["0001.flac", "0002.flac"], [5, 7])
    table.writer.close()


def test_what_was_said_in_own_words_is_no_clip(tmp_path: Path) -> None:
    """A name may be among the words. The `right` to what was asked back is kept as any reply."""
    table = Table(tmp_path)
    table.takes(Replied(at_ms=0, phrase="tray is tidy", how="own words"))
    table.takes(AskedBack(at_ms=0, phrase="tray is tidy"))
    table.takes(Sealed(at_ms=0, seal="00", how="own words"), secret=True)
    table.takes(Opened(at_ms=0, first="0.18", first_salt="00"))
    assert table.clips() == []
    table.takes(Replied(at_ms=0, phrase="right", how="asked back"))
    assert table.clips() == ["0001.flac"]
    table.writer.close()


def test_where_more_was_said_than_a_phrase_nothing_is_kept() -> None:
    def heard(written: str, nearest: str | None) -> Hearing:
        return Hearing("unclear", None, nearest, -5.0, "scorer", "it was not clear enough", 0.1, 0.5, written)

    assert may_be_kept(heard("", "name matches"))
    assert may_be_kept(heard("Aim matches.", "name matches"))
    assert not may_be_kept(heard("name matches it is mister miller", "name matches"))
    assert not may_be_kept(heard("mister miller", None))


def test_a_figure_under_seal_is_no_clip_before_it_is_opened(tmp_path: Path) -> None:
    table = Table(tmp_path)
    table.takes(Missed(at_ms=0, why="unclear"), secret=True)
    table.takes(Sealed(at_ms=0, seal="00"), secret=True)
    table.takes(Replied(at_ms=0, phrase="five two"), secret=True)
    table.takes(Sealed(at_ms=0, seal="11"), BOTH, secret=True)
    assert table.clips() == []
    table.takes(Opened(at_ms=0, first="0.18", first_salt="00"), BOTH)
    table.keeper.finish(0)
    assert table.of() == [2, 3, 4, 5]
    table.writer.close()


def test_a_figure_that_is_never_opened_is_never_a_clip(tmp_path: Path) -> None:
    table = Table(tmp_path)
    table.takes(Sealed(at_ms=0, seal="00"), secret=True)
    table.keeper.finish(0)
    assert table.clips() == []
    table.writer.close()


def test_a_second_person_who_was_not_asked_ends_it_and_is_not_kept(tmp_path: Path) -> None:
    table = Table(tmp_path, tags=("41",))
    table.takes(TIDY)
    table.takes(Sealed(at_ms=0, seal="00"), secret=True)
    table.takes(Replied(at_ms=0, phrase="five two"), secret=True)
    assert "tag 52 had not agreed" in table.takes(Replied(at_ms=0, phrase="exactly right"), BOTH, secret=True)
    table.takes(Opened(at_ms=0, first="0.18", first_salt="00"), BOTH)
    table.takes(Replied(at_ms=0, phrase="tray is tidy"), BOTH)
    table.keeper.finish(0)
    assert (table.of(), table.clips()) == ([2], ["0001.flac"])
    assert agreed_tags(read_record(table.path).entries) == ()
    assert WITHDRAW in table.keeper.phrases, "what was kept can still be deleted"
    table.keeper.withdraw(0)
    assert (table.clips(), dict(table.keeper.phrases)) == ([], {})
    table.writer.close()


def test_the_clip_is_durable_before_the_entry_that_names_it(tmp_path: Path) -> None:
    """Broken off between the two: one clip too many, which resuming takes away; never an entry without its clip."""
    table = Table(tmp_path)
    table.takes(TIDY)
    table.writes(TIDY)
    table.keeper.took(TIDY, ALONE, HUM, False)
    table.writer.close()  # the record takes no more
    with pytest.raises(RecordError, match="was let go"):
        table.keeper.settle(0)
    assert table.clips() == ["0001.flac", "0002.flac"]
    entries = read_record(table.path).entries
    assert verify(table.path, None, {key().public}).state == "open"
    assert "1 is named by no entry" in misfit_of_clips(table.path, entries, closed=True)
    ClipBox(table.path).keep_only(clips_of(entries))
    assert table.clips() == ["0001.flac"]
    assert misfit_of_clips(table.path, entries, closed=True) == ""


class FullDisk(DiskFiles):
    """Takes the first clip and no other."""

    written = 0

    def write(self, fd: int, data: bytes) -> int:
        self.written += 1
        if self.written > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return super().write(fd, data)


def test_a_disk_that_takes_no_clip_ends_the_keeping_and_not_the_session(tmp_path: Path) -> None:
    table = Table(tmp_path, box=ClipBox(tmp_path / "one.jsonl", FullDisk()))
    table.takes(TIDY)
    table.writes(TIDY)
    table.keeper.took(TIDY, ALONE, HUM, False)
    assert table.keeper.settle(0) == "No more sound is kept: the disk did not take it: No space left on device."
    table.takes(TIDY)
    assert table.of() == [2]
    table.writer.finish("signed", 0)
    table.writer.close()
    finding = verify(table.path, None, {key().public})
    assert (finding.state, finding.clips) == ("intact", 1)


def test_the_second_the_agreement_is_taken_back_nothing_more_is_written(tmp_path: Path) -> None:
    table = Table(tmp_path)
    table.keeper.took(TIDY, ALONE, HUM, False)
    table.keeper.withdraw(0)
    table.keeper.settle(0)
    table.takes(TIDY)
    table.keeper.finish(0)
    assert (table.clips(), table.of()) == ([], [])
    table.writer.close()
