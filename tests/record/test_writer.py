"""The writer on a real disk: one of them, private, in order, and finished for good when it fails."""

import os
import re
import stat
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from companion.clocks import SimulatedClock
from companion.errors import RecordError
from companion.record.files import DiskFiles
from companion.record.first_entry import RECORD_VERSION
from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from tests.record.making import OPENING, START, UnsyncedFiles, clock, key, reply, written

KNOWN = {key().public}


def test_a_new_record_has_a_telling_name_and_is_its_owners_alone(tmp_path: Path) -> None:
    writer = written(tmp_path / "records" / "of today", 3, files=DiskFiles())
    assert writer.path.parent == tmp_path / "records" / "of today"
    assert re.fullmatch(r"20310304T050607Z-hand-rub-[0-9a-f]{4}\.jsonl", writer.path.name)
    if os.name == "posix":
        assert stat.S_IMODE(writer.path.stat().st_mode) == 0o600
        assert stat.S_IMODE((tmp_path / "records").stat().st_mode) == 0o700
        assert stat.S_IMODE((tmp_path / "records" / "of today").stat().st_mode) == 0o700


def test_two_records_begun_in_the_same_second_do_not_meet(tmp_path: Path) -> None:
    assert len({written(tmp_path, 2).path for _ in range(30)}) == 30


def test_an_existing_file_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    path.write_text("kept")
    with pytest.raises(RecordError, match=r"kept\.jsonl: a record cannot be begun here"):
        RecordWriter.create(path, OPENING, clock(), key())
    assert path.read_text() == "kept"


def test_the_first_entry_pins_what_the_record_stands_on(tmp_path: Path) -> None:
    opening = read_record(written(tmp_path, 2, close=False).path).opening
    assert opening["procedure_text"] == OPENING["procedure_text"]
    text = tmp_path / "text"
    text.write_bytes(OPENING["procedure_text"].encode())
    tool = subprocess.run(["sha256sum", str(text)], capture_output=True, text=True, check=True)  # coreutils
    assert opening["procedure_sha256"] == tool.stdout.split()[0]
    assert (opening["record_version"], opening["mode"], opening["public_key"]) == (
        RECORD_VERSION,
        "rehearsal",
        key().public,
    )


@pytest.mark.parametrize(
    ("opening", "says"),
    [
        ({"procedure_text": "x"}, "procedure_id is missing"),
        ({"procedure_id": "x", "procedure_text": 3}, "procedure_text is missing"),
        ({"procedure_id": "../x", "procedure_text": "x"}, r"procedure_id '\.\./x'; lower-case letters"),
        ({"procedure_id": "x", "procedure_text": "x", "key_id": "mine"}, "key_id is filled in"),
        ({"procedure_id": "x", "procedure_text": "x", "weight": 1.5}, "weight: 1.5 is a float"),
    ],
)
def test_an_opening_that_does_not_fit_is_refused_and_leaves_no_file(
    tmp_path: Path, opening: dict[str, object], says: str
) -> None:
    with pytest.raises(RecordError, match=says):
        RecordWriter.create(tmp_path, opening, clock(), key())
    assert list(tmp_path.iterdir()) == []


def test_what_does_not_fit_is_refused_and_the_record_goes_on(tmp_path: Path) -> None:
    writer = RecordWriter.create(tmp_path, OPENING, clock(), key(), UnsyncedFiles())
    writer.append("replied", reply(1), 500)
    for kind, body, at_ms, says in [
        ("replied", {"dose": 2.5}, 600, "dose: 2.5 is a float"),
        ("replied", {}, 2**53, "at_ms: 9007199254740992 is too large"),
        ("closed", {}, 600, "written by the record itself"),
        ("opened", {}, 600, "written by the record itself"),
    ]:
        with pytest.raises(RecordError, match=says):
            writer.append(kind, body, at_ms)
    with pytest.raises(RecordError, match="lower-case letters"):
        writer.finish("Signed: all well!", 600)
    writer.finish("signed", 600)
    with pytest.raises(RecordError, match="closed; nothing can be added"):
        writer.append("replied", reply(2), 700)
    writer.close()
    writer.close()
    with pytest.raises(RecordError):
        writer.append("replied", reply(2), 700)
    assert verify(writer.path, None, KNOWN).state == "intact"


SECOND = """
import sys
from pathlib import Path
from companion.errors import RecordError
from companion.record.writer import RecordWriter
from tests.record.making import clock, key
try:
    RecordWriter.reopen(Path(sys.argv[1]), clock(), key())
except RecordError as fault:
    print(fault)
"""


def test_a_second_writer_gets_one_clear_sentence(tmp_path: Path) -> None:
    first = RecordWriter.create(tmp_path, OPENING, clock(), key(), UnsyncedFiles())
    wanted = f"{first.path}: another program is writing this record; end that one first"
    with pytest.raises(RecordError) as fault:
        RecordWriter.reopen(first.path, clock(), key())
    assert str(fault.value) == wanted
    child = subprocess.run([sys.executable, "-c", SECOND, str(first.path)], capture_output=True, text=True, check=True)
    assert child.stdout.strip() == wanted
    first.append("replied", reply(1), 1)
    first.close()
    RecordWriter.reopen(first.path, clock(), key()).close()
    assert [e.kind for e in read_record(first.path).entries] == ["opened", "replied"]


def test_a_wall_clock_that_jumps_back_neither_stops_nor_reorders_the_session(tmp_path: Path) -> None:
    class Jumping(SimulatedClock):
        back = timedelta()

        def utc(self):  # type: ignore[no-untyped-def]
            return super().utc() - self.back

    now = Jumping(START)
    writer = RecordWriter.create(tmp_path, OPENING, now, key(), UnsyncedFiles())
    now.wait_ms(1000)
    writer.append("replied", reply(1), writer.elapsed_ms())
    now.back = timedelta(hours=2)
    now.wait_ms(1000)
    writer.append("replied", reply(2), writer.elapsed_ms())
    writer.close()
    now.back = timedelta(hours=26)
    writer = RecordWriter.reopen(writer.path, now, key(), UnsyncedFiles())
    assert writer.elapsed_ms() == 2000
    now.wait_ms(500)
    writer.append("replied", reply(3), writer.elapsed_ms())
    writer.finish("signed", writer.elapsed_ms())
    writer.close()
    record = read_record(writer.path)
    assert [e.at_ms for e in record.entries] == [0, 1000, 2000, 2500, 2500]
    assert record.entries[2].utc < record.entries[1].utc  # as the wall clock had it: the record does not smooth it


def test_session_time_goes_on_over_a_crash_and_a_restart_of_the_machine(tmp_path: Path) -> None:
    now = clock()
    writer = written(tmp_path, 3, close=False, time=now)
    later = SimulatedClock(now.utc() + timedelta(minutes=4))  # its monotonic clock begins at 0 again
    again = RecordWriter.reopen(writer.path, later, key(), UnsyncedFiles())
    assert again.elapsed_ms() == writer.last.at_ms + 4 * 60_000
    again.close()


@pytest.mark.parametrize("how", ["deleted", "replaced", "a link", "cut", "appended to", "emptied"])
def test_a_record_that_somebody_changed_while_it_was_written_gets_no_receipt(tmp_path: Path, how: str) -> None:
    """Each was once told as signed, with a receipt and exit code 0. What was written is still there where it can be."""
    writer = RecordWriter.create(tmp_path, OPENING, clock(), key(), UnsyncedFiles())
    for n in range(3):
        writer.append("replied", reply(n), n)
    path, moved = writer.path, tmp_path / "moved"
    match how:
        case "deleted":
            path.unlink()
        case "replaced" | "a link":
            path.rename(moved)
            path.write_text("another") if how == "replaced" else path.symlink_to(moved)
        case "cut" | "emptied":
            os.truncate(path, path.stat().st_size - 9 if how == "cut" else 0)
        case _:
            with path.open("ab") as file:
                file.write(b"more\n")
    kept = how in ("deleted", "replaced", "a link")
    says = "was taken away or replaced" if kept else "was changed by another program"
    with pytest.raises(RecordError, match=f"{says} while the session ran"):
        writer.finish("signed", 4)
    writer.close()
    others = [each for each in tmp_path.glob("*.jsonl") if each != path]
    assert [verify(each, None, KNOWN).state for each in others] == (["intact"] if kept else [])
