"""A disk that fails: the fault is final, said in one sentence, and what was acknowledged stays."""

import errno
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from tests.record.making import OPENING, UnsyncedFiles, clock, key, reply

KNOWN = {key().public}


class FailingFiles(UnsyncedFiles):
    """The real disk, until `fails` names a call that is to fail."""

    def __init__(self) -> None:
        self.fails = ""
        self.code = errno.EIO

    def write(self, fd: int, data: bytes) -> int:
        if self.fails == "write":
            raise OSError(self.code, os.strerror(self.code))
        if self.fails == "short write":
            return super().write(fd, data[: len(data) // 2])
        return super().write(fd, data)

    def sync(self, fd: int) -> None:
        if self.fails == "sync":
            raise OSError(self.code, os.strerror(self.code))
        super().sync(fd)

    def sync_folder(self, folder: Path) -> None:
        if self.fails == "sync folder":
            raise OSError(self.code, os.strerror(self.code))
        super().sync_folder(folder)


@pytest.mark.parametrize("fails", ["write", "short write", "sync"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_a_fault_in_writing_is_final_and_what_was_acknowledged_stays(tmp_path: Path, fails: str, code: int) -> None:
    files, now = FailingFiles(), clock()
    writer = RecordWriter.create(tmp_path, OPENING, now, key(), files)
    for n in range(5):
        writer.append("replied", reply(n), n)
    files.fails, files.code = fails, code
    with pytest.raises(RecordError, match="the session stops here, its 6 entries are safe"):
        writer.append("replied", reply(5), 5)
    files.fails = ""  # the disk is well again; the writer must not be
    with pytest.raises(RecordError, match="nothing more is written"):
        writer.append("replied", reply(6), 6)
    with pytest.raises(RecordError, match="nothing more is written"):
        writer.finish("signed", 7)
    writer.close()
    there = [e.body for e in read_record(writer.path).entries if e.kind == "replied"]
    assert there[:5] == [reply(n) for n in range(5)]
    again = RecordWriter.reopen(writer.path, now, key(), files)
    again.finish("signed", again.elapsed_ms())
    again.close()
    assert verify(writer.path, None, KNOWN).state == "intact"


@pytest.mark.parametrize("fails", ["write", "short write", "sync", "sync folder"])
def test_a_record_whose_beginning_fails_is_not_left_behind(tmp_path: Path, fails: str) -> None:
    files = FailingFiles()
    files.fails = fails
    with pytest.raises(RecordError):
        RecordWriter.create(tmp_path, OPENING, clock(), key(), files)
    assert list(tmp_path.iterdir()) == []


def test_an_interrupted_write_is_not_written_after(tmp_path: Path) -> None:
    class Interrupted(UnsyncedFiles):
        on = False

        def sync(self, fd: int) -> None:
            if self.on:
                raise KeyboardInterrupt

    files = Interrupted()
    writer = RecordWriter.create(tmp_path, OPENING, clock(), key(), files)
    files.on = True
    with pytest.raises(KeyboardInterrupt):
        writer.append("replied", reply(1), 1)
    files.on = False
    with pytest.raises(RecordError, match="interrupted"):
        writer.append("replied", reply(2), 2)
    writer.close()
    assert verify(writer.path, None, KNOWN).state == "open"


def test_the_kernel_itself_runs_out_of_space(tmp_path: Path) -> None:
    class OnFull(UnsyncedFiles):
        def create(self, path: Path) -> int:
            os.close(super().create(path))
            return os.open("/dev/full", os.O_RDWR | os.O_CLOEXEC)  # full(4): every write fails with ENOSPC

    if not Path("/dev/full").exists():
        pytest.skip("needs /dev/full (Linux)")
    with pytest.raises(RecordError, match="No space left on device"):
        RecordWriter.create(tmp_path, OPENING, clock(), key(), OnFull())


LIMITED = """
import resource, signal, sys
from pathlib import Path
from companion.errors import RecordError
from companion.record.writer import RecordWriter
from tests.record.making import OPENING, clock, key, reply
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
writer = RecordWriter.create(Path(sys.argv[1]), OPENING, clock(), key())
resource.setrlimit(resource.RLIMIT_FSIZE, (4000, resource.RLIM_INFINITY))
for n in range(20):
    try:
        writer.append("replied", reply(n), n)
    except RecordError as fault:
        print(n, fault)
        break
"""


@pytest.mark.skipif(os.name != "posix", reason="needs RLIMIT_FSIZE")
def test_the_kernel_itself_takes_only_a_part(tmp_path: Path) -> None:
    child = subprocess.run(
        [sys.executable, "-c", LIMITED, str(tmp_path / "one.jsonl")], capture_output=True, text=True, check=True
    )
    count = int(child.stdout.split()[0])
    assert "took only a part" in child.stdout
    record = read_record(tmp_path / "one.jsonl")
    assert record.finding.state == "torn"
    assert len(record.entries) == count + 1


def test_a_folder_that_takes_no_files_is_named(tmp_path: Path) -> None:
    if not Path("/proc/self").exists():
        pytest.skip("needs /proc (Linux), which takes no files from anyone")
    with pytest.raises(RecordError, match="/proc/self: a record cannot be begun here"):
        RecordWriter.create(Path("/proc/self"), OPENING, clock(), key())
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(RecordError, match="a record cannot be begun here"):
        RecordWriter.create(tmp_path / "file", OPENING, clock(), key())


@pytest.mark.skipif(os.name != "posix", reason="Windows has other permissions")
def test_a_read_only_folder_is_named() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o500)
        root = os.geteuid() == 0  # whom permissions do not bind
        if root:
            os.chown(folder, 65534, 65534)
            os.seteuid(65534)
        try:
            with pytest.raises(RecordError, match=r"a record cannot be begun here \(Permission denied"):
                RecordWriter.create(folder, OPENING, clock(), key())
        finally:
            if root:
                os.seteuid(0)
            folder.chmod(0o700)
