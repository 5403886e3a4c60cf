"""The operating system's own trace: a line is written, then synced, and only then acknowledged."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

from tests.realparts import need

SCRIPT = """
import sys
from pathlib import Path
from companion.record.writer import RecordWriter
from tests.record.making import OPENING, clock, key, reply
writer = RecordWriter.create(Path(sys.argv[1]), OPENING, clock(), key())
print("ack 0", flush=True)
for n in range(1, 6):
    writer.append("replied", reply(n), n)
    print(f"ack {n}", flush=True)
writer.finish("signed", 6)
print("ack 6", flush=True)
writer.close()
"""


def test_write_then_sync_then_acknowledge(tmp_path: Path) -> None:
    strace = shutil.which("strace")
    need(strace is not None, "strace is missing: apt install strace")
    assert strace
    log, path = tmp_path / "trace", tmp_path / "new" / "one.jsonl"
    calls = "trace=openat,mkdir,flock,write,fsync"
    done = subprocess.run(
        [strace, "-f", "-y", "-s", "40", "-e", calls, "-o", str(log), sys.executable, "-c", SCRIPT, str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    need("ptrace" not in done.stderr, "strace may not trace here (ptrace is forbidden)")
    assert done.returncode == 0, done.stderr
    steps = []
    for line in log.read_text("utf-8", "replace").splitlines():
        if f'"{path}"' in line and "openat" in line:
            assert all(flag in line for flag in ("O_CREAT", "O_EXCL", "O_APPEND", "O_CLOEXEC", "0600")), line
            steps.append("create")
        elif re.search(rf"flock\(\d+<{re.escape(str(path))}>, LOCK_EX\|LOCK_NB\) = 0", line):
            steps.append("lock")
        elif m := re.search(rf"write\(\d+<{re.escape(str(path))}>, .* = (\d+)", line):
            steps.append("write")
            assert int(m[1]) > 300
        elif re.search(rf"fsync\(\d+<{re.escape(str(path))}>\) += 0", line):
            steps.append("sync")
        elif re.search(rf"fsync\(\d+<{re.escape(str(path.parent))}>\) += 0", line):
            steps.append("sync folder")
        elif m := re.search(r'write\(1<.*"ack (\d)', line):
            steps.append(f"ack {m[1]}")
    assert steps[:6] == ["create", "lock", "write", "sync", "sync folder", "ack 0"]
    assert steps[6:] == [step for n in range(1, 7) for step in ("write", "sync", f"ack {n}")]
