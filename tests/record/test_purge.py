"""After a purge nothing of what was said is left, and the chain still verifies."""

import json
import os
import signal
import stat
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from companion import places
from companion.errors import RecordError, UsageError
from companion.record.keys import own_key
from companion.record.purge import Due, older_than, purge
from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from tests.commands import inside
from tests.record.making import OPENING, START, UnsyncedFiles, clock, key, reply, written

KNOWN = {key().public}


def wipe(path: Path, seed: int = 7) -> None:
    purge(path, "retention", clock(), key(seed))


def found_in(folder: Path, phrases: list[str]) -> list[str]:
    """Which of `phrases` grep finds in any file under `folder`."""
    hits = []
    for phrase in phrases:
        if subprocess.run(["grep", "-rqF", "--", phrase, str(folder)], check=False).returncode == 0:
            hits.append(phrase)
    return hits


def test_every_phrase_is_gone_and_the_chain_verifies(tmp_path: Path) -> None:
    path = written(tmp_path, 20, close=False).path
    with path.open("ab") as file:
        file.write(b'{"torn away phrase')
    writer = RecordWriter.reopen(path, clock(), key(), UnsyncedFiles())  # leaves a file with the torn line
    receipt = writer.finish("signed", writer.elapsed_ms())
    writer.close()
    salt = read_record(path).opening["salt"]
    phrases = [f"vial number {n} rolled" for n in range(19)]
    phrases += ["torn away phrase", "replied", "Hand rub", "rehearsal", OPENING["procedure_text"][:20], salt]
    assert found_in(tmp_path, phrases) == phrases

    with path.open("rb") as before:  # the old file, now without a name
        wipe(path)
        assert before.read() == b""

    assert found_in(tmp_path, phrases) == []
    assert [p.name for p in tmp_path.iterdir()] == [path.name]
    finding = verify(path, None, KNOWN)
    assert (finding.state, finding.ok, finding.entries) == ("purged", True, 22)
    assert "purged, chain intact, 22 entries" in finding.sentence()
    assert "reason: retention" in finding.sentence()
    assert "the receipt matches" in verify(path, receipt, KNOWN).sentence()
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_the_tombstone_fits_a_copy_that_someone_kept(tmp_path: Path) -> None:
    path = written(tmp_path, 4).path
    closing = path.read_bytes().splitlines()[-1]
    wipe(path)
    stone = json.loads(path.read_bytes())
    assert stone["body"]["closing"] == json.loads(closing)


def test_a_tombstone_cannot_be_read_continued_or_purged_again(tmp_path: Path) -> None:
    path = written(tmp_path, 4).path
    wipe(path)
    with pytest.raises(RecordError, match="purged, 4 entries"):
        read_record(path)
    wipe(foreign := written(tmp_path, 4).path, seed=9)
    with pytest.raises(RecordError, match="by the unknown key"):
        read_record(foreign)
    with pytest.raises(RecordError, match="was purged; there is nothing left"):
        RecordWriter.reopen(path, clock(), key())
    with pytest.raises(RecordError, match="was purged before"):
        wipe(path)


def test_open_and_damaged_records_can_be_purged_and_say_what_they_were(tmp_path: Path) -> None:
    still = written(tmp_path / "open.jsonl", 4, close=False).path
    wipe(still)
    assert "purged, it was open, 4 entries" in verify(still, None, KNOWN).sentence()
    damaged = written(tmp_path / "damaged.jsonl", 6).path
    damaged.write_bytes(damaged.read_bytes().replace(b"number 2", b"number 9"))
    wipe(damaged)
    assert "purged, it was damaged, 4 entries" in verify(damaged, None, KNOWN).sentence()
    receipt = verify(written(tmp_path / "other.jsonl", 3).path, None, KNOWN).receipt
    assert verify(still, receipt, KNOWN).state == "receipt"


def test_a_changed_or_foreign_tombstone_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, 3).path
    receipt = verify(path, None, KNOWN).receipt
    wipe(path)
    data = path.read_bytes()
    for place in range(len(data)):
        changed = bytearray(data)
        changed[place] ^= 1 << place % 8
        path.write_bytes(changed)
        assert not verify(path, None, KNOWN).ok, place
    path.write_bytes(data)
    assert verify(path, None, ()).state == "stranger"
    assert "by the unknown key" in verify(path, receipt, ()).sentence()
    other = written(tmp_path / "other.jsonl", 3).path
    path.write_bytes(data + other.read_bytes())
    assert "something after the tombstone" in verify(path, None, KNOWN).sentence()
    path.write_bytes(data + b"x")
    assert "line 2: there is something after the tombstone" in verify(path, None, KNOWN).sentence()
    path.write_bytes(other.read_bytes() + data)
    assert verify(path, None, KNOWN).state == "broken"
    wipe(other, seed=9)
    assert verify(other, None, KNOWN).state == "purged by another"


def test_what_is_no_record_or_in_use_is_left_alone(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("not a record")
    with pytest.raises(RecordError, match="is no session record"):
        wipe(letter)
    assert letter.read_text() == "not a record"
    writer = RecordWriter.create(tmp_path, OPENING, clock(), key(), UnsyncedFiles())
    with pytest.raises(RecordError, match="another program is writing"):
        wipe(writer.path)
    writer.append("replied", reply(1), 1)
    writer.close()
    assert verify(writer.path, None, KNOWN).entries == 2
    with pytest.raises(RecordError, match=r"gone\.jsonl: cannot be purged \(No such file"):
        wipe(tmp_path / "gone.jsonl")
    with pytest.raises(UsageError, match="no details"):
        purge(writer.path, "Asked for by B. Example", clock(), key())
    assert len(list(tmp_path.iterdir())) == 2


def killed_at(call: int, path: Path) -> bool:
    """Purge in a child process that is killed before its `call`-th call of the operating system; False when it made
    fewer and ended by itself."""
    pid = os.fork()
    if pid == 0:
        left = call

        def count(_: object, event: str, function: object) -> None:
            nonlocal left
            if event == "c_call" and getattr(function, "__module__", "") in ("posix", "_io"):
                left -= 1
                if left < 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        try:
            sys.setprofile(count)
            wipe(path)
        finally:
            os._exit(0)
    _, status = os.waitpid(pid, 0)
    return os.WIFSIGNALED(status)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_at_any_point_the_record_or_its_tombstone_is_there_and_purging_can_be_finished(tmp_path: Path) -> None:
    states, call, killed = [], 0, True
    while killed:
        path = written(tmp_path / "one.jsonl", 3).path
        side = path.with_name(f"{path.name}.1.torn")
        side.write_text("torn away phrase")
        killed = killed_at(call, path)
        call += 1
        states.append(verify(path, None, KNOWN).state)
        if states[-1] == "intact":
            wipe(path)
        assert verify(path, None, KNOWN).state == "purged"
        path.unlink()
        assert not any(b"vial number" in p.read_bytes() or b"torn away" in p.read_bytes() for p in tmp_path.iterdir())
    assert states == sorted(states)  # first some intact, then all purged
    assert states.count("intact") > 5 and states.count("purged") > 5


def test_retention_counts_from_the_last_entry(tmp_path: Path) -> None:
    now = clock()
    path = written(tmp_path, 3, time=now).path
    ended = START + timedelta(milliseconds=now.now_ms())
    assert older_than(tmp_path, 30, ended + timedelta(days=30)).records == (path,)
    assert older_than(tmp_path, 30, ended + timedelta(days=30, milliseconds=-1)).records == ()
    with pytest.raises(UsageError, match="0 or more"):
        older_than(tmp_path, -1, ended)
    wipe(path)
    assert older_than(tmp_path, 0, ended + timedelta(days=900)) == Due((), ())


def test_the_command_asks_and_then_purges_what_is_due(tmp_path: Path) -> None:
    own = own_key(places.keys())

    def run(*arguments: str, answer: str = "") -> tuple[int, str]:
        code, said = inside("record", "purge", *arguments, typed=answer)
        return code, " ".join(said.split())

    class Past(type(clock())):  # type: ignore[misc]
        def utc(self):  # type: ignore[no-untyped-def]
            return super().utc().replace(year=2001)

    folder = tmp_path / "records"
    old = written(folder, 3, own, time=Past(START)).path
    young = written(folder, 3, own).path  # dated years ahead
    for wrong, says in [
        ((str(folder),), "with --days N, or"),
        ((str(old), "--days", "3"), "goes with a folder"),
    ]:
        with pytest.raises(UsageError, match=says):
            run(*wrong)
    code, said = run(str(folder), "--days", "30", "--dry-run")
    assert code == 0 and f"to be destroyed: {old}" in said and "1 record would be purged; nothing was" in said
    assert run(str(folder), "--days", "30", answer="n\n")[0] == 1
    assert verify(old).state == "intact"
    code, said = run(str(folder), "--days", "30", answer="y\n")
    assert code == 0
    assert "content of 1 record for good" in said
    assert f"{old}: purged, chain intact" in said
    assert (verify(old).state, verify(young).state) == ("purged", "intact")
    assert "nothing was purged" in run(str(folder), "--days", "30")[1]
    assert run(str(young), "--reason", "asked for", "--yes")[0] == 0
    assert "reason: asked for" in verify(young).sentence()
    assert inside("record", "verify", str(folder)) == (0, "2 records: 2 purged\n")
