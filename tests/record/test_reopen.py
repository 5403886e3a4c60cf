"""Going on after a crash: what is unfinished is set aside, what is damaged is refused."""

import os
import stat
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record.entry import digest
from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from tests.record.making import UnsyncedFiles, clock, key, reply, written

KNOWN = {key().public}


def reopen(path: Path, seed: int = 7) -> RecordWriter:
    return RecordWriter.reopen(path, clock(), key(seed), UnsyncedFiles())


def test_cut_at_every_byte_it_is_either_never_begun_or_continued_with_every_whole_entry(tmp_path: Path) -> None:
    whole = written(tmp_path / "whole", 3, close=False).path.read_bytes()
    first = whole.index(b"\n") + 1
    for size in range(len(whole) + 1):
        path = tmp_path / f"{size}.jsonl"
        path.write_bytes(whole[:size])
        before = verify(path, None, KNOWN)
        complete = whole[:size].count(b"\n")
        assert (before.entries, before.ok) == (complete, False)
        if size < first:
            assert before.state == "empty"
            with pytest.raises(RecordError, match="holds no complete entry"):
                reopen(path)
            path.unlink()
            continue
        torn = size - (whole[:size].rindex(b"\n") + 1)
        assert (before.state, before.torn) == ("torn" if torn else "open", torn)
        writer = reopen(path)
        writer.finish("signed", writer.elapsed_ms())
        writer.close()
        record = read_record(path)
        kinds = ["opened", *["replied"] * (complete - 1), *["recovered"] * bool(torn), "closed"]
        assert [e.kind for e in record.entries] == kinds
        assert verify(path, None, KNOWN).state == "intact"
        path.unlink()


def test_what_is_set_aside_is_kept_privately_and_named_in_the_record(tmp_path: Path) -> None:
    path = written(tmp_path, 3, close=False).path
    for torn in (b'{"at_ms":1,"bo', b'{"at_ms"\0\0\0\0\0}\n', "{é".encode()[:-1]):
        with path.open("ab") as file:
            file.write(torn)
        reopen(path).close()
        last = read_record(path).entries[-1]
        side = path.with_name(last.body["file"])
        assert (last.kind, last.body["bytes"], last.body["sha256"]) == ("recovered", len(torn), digest(torn))
        assert side.read_bytes() == torn
        assert side.suffix == ".torn"
        if os.name == "posix":
            assert stat.S_IMODE(side.stat().st_mode) == 0o600
    assert len(list(tmp_path.glob("*.torn"))) == 3


def test_a_closed_record_is_not_continued(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="this record is closed"):
        reopen(written(tmp_path, 4).path)


def test_another_key_cannot_continue_it(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"begun with the key [0-9a-f]{16}; this machine's key is"):
        reopen(written(tmp_path, 4, close=False).path, seed=8)


def test_damage_in_the_middle_is_refused_and_nothing_is_touched(tmp_path: Path) -> None:
    path = written(tmp_path, 6, close=False).path
    lines = path.read_bytes().splitlines(keepends=True)
    for damaged in (
        b"".join([*lines[:2], b"\n", *lines[2:]]),
        b"".join([*lines[:2], lines[2][:-9], *lines[3:]]),
        b"".join([*lines[:3], *lines[4:]]),
        b"".join(lines).replace(b"number 1", b"number 2"),
        b"\xef\xbb\xbf" + b"".join(lines),
        b"".join(lines).replace(b"\n", b"\r\n"),
    ):
        path.write_bytes(damaged)
        with pytest.raises(RecordError, match=r"line \d is damaged or was changed"):
            reopen(path)
        with pytest.raises(RecordError, match="broken at line"):
            read_record(path)
        assert path.read_bytes() == damaged
        assert len(list(tmp_path.iterdir())) == 1


def test_no_such_record_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"gone\.jsonl: this record cannot be opened \(No such file"):
        reopen(tmp_path / "gone.jsonl")
    with pytest.raises(RecordError, match=r"gone\.jsonl: there is no such file"):
        read_record(tmp_path / "gone.jsonl")


def test_lines_are_ended_by_newlines_alone(tmp_path: Path) -> None:
    # str.splitlines would cut at U+2028 and U+0085, which JSON text may hold as they are
    writer = RecordWriter.create(tmp_path, {"procedure_id": "x", "procedure_text": "a\u2028b\x85c"}, clock(), key())
    writer.append("replied", {**reply(1), "more": "\u2028\u2029\x85\x0b\x0c\x1c"}, 1)
    writer.close()
    reopen(writer.path).close()
    assert len(read_record(writer.path).entries) == 2
