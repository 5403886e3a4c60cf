"""kill -9 at any moment: everything that was acknowledged is in the record, and the record can be continued."""

import os
import random
import signal
from pathlib import Path

import pytest

from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from tests.record.making import OPENING, clock, key, reply

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


def child(path: Path, begin: bool, pipe: int) -> None:
    writer = RecordWriter.create(path, OPENING, clock(), key()) if begin else RecordWriter.reopen(path, clock(), key())
    number = writer.last.n
    while True:
        number += 1
        writer.append("replied", reply(number), writer.elapsed_ms())
        os.write(pipe, b"%d\n" % writer.last.n)


def test_killed_forty_times_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    chance, path = random.Random(5), tmp_path / "one.jsonl"
    acknowledged = 0
    for _ in range(40):
        reading, writing = os.pipe()
        begin = not path.exists() or verify(path, None, ()).state == "empty"
        if begin:
            path.unlink(missing_ok=True)
        pid = os.fork()
        if pid == 0:
            try:
                child(path, begin, writing)
            finally:
                os._exit(1)
        os.close(writing)
        with os.fdopen(reading, "rb") as pipe:
            for _ in range(chance.randrange(4)):
                acknowledged = int(pipe.readline())
            for _ in range(chance.randrange(20_000)):  # some moment between two acknowledgements
                pass
            os.kill(pid, signal.SIGKILL)
            _, status = os.waitpid(pid, 0)
            for line in pipe.read().splitlines():
                acknowledged = int(line)
        assert os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
        if acknowledged:
            assert read_record(path).entries[-1].n >= acknowledged
    writer = RecordWriter.reopen(path, clock(), key())
    writer.finish("signed", writer.elapsed_ms())
    writer.close()
    assert acknowledged >= 40
    assert verify(path, None, {key().public}).state == "intact"
