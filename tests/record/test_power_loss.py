"""No entry that was acknowledged is lost, whenever the power goes."""

from pathlib import Path
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.record.reader import read_record
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from tests.record.making import OPENING, clock, key
from tests.record.weak_disk import LyingDisk, PowerOut, WeakDisk

RECORD = Path("/records/one.jsonl")
KNOWN = {key().public}


class Lost(Exception):
    """An acknowledged entry is gone."""


def live_through(disk: WeakDisk, scratch: Path) -> None:
    """Write, lose power, continue, until some dozens of entries are acknowledged and the record is closed."""
    random, now = disk.random, clock()
    acknowledged: list[str] = []
    begun = False
    wanted = random.randrange(10, 30)
    while True:
        disk.out_at = random.randrange(1, 25) if disk.losses < 6 else -1
        try:
            if begun or RECORD in disk.nodes:
                writer = reopened(disk)
            else:
                writer = RecordWriter.create(RECORD, OPENING, now, key(), disk)
            begun = True
            while len(acknowledged) < wanted:
                now.wait_ms(random.randrange(2000))
                said = f"{len(acknowledged)} " + "x" * random.randrange(300)
                writer.append("replied", {"phrase": said}, writer.elapsed_ms())
                acknowledged.append(said)
            writer.finish("signed", writer.elapsed_ms())
            break
        except PowerOut:
            disk.lose_power()
        check(disk, scratch, acknowledged, begun)
        if RECORD in disk.nodes and never_begun_or_closed(disk, scratch):
            if begun:
                break  # the closing entry was on the disk, and only its acknowledgement was not
            del disk.nodes[RECORD]
    assert check(disk, scratch, acknowledged, True) in ("intact",)


def reopened(disk: WeakDisk) -> RecordWriter:
    try:
        return RecordWriter.reopen(RECORD, clock(), key(), disk)
    except RecordError as fault:
        raise Lost(str(fault)) from fault


def never_begun_or_closed(disk: WeakDisk, scratch: Path) -> bool:
    scratch.write_bytes(disk.nodes[RECORD].now)
    return verify(scratch, None, KNOWN).state in ("empty", "intact")


def check(disk: WeakDisk, scratch: Path, acknowledged: list[str], begun: bool) -> str:
    """The state of the record on the disk; raises Lost when something acknowledged is not in it."""
    if RECORD not in disk.nodes:
        if begun:
            raise Lost("the file")
        return "empty"
    scratch.write_bytes(disk.nodes[RECORD].now)
    finding = verify(scratch, None, KNOWN)
    if finding.state == "empty" and not begun:
        return "empty"
    try:
        there = [e.body["phrase"] for e in read_record(scratch).entries if e.kind == "replied"]
    except RecordError as fault:
        raise Lost(str(fault)) from fault
    if there[: len(acknowledged)] != acknowledged or len(there) > len(acknowledged) + 1:
        raise Lost(f"{acknowledged} were acknowledged, {there} are there")
    acknowledged[:] = there  # one more may be there whose acknowledgement the power cut off
    return finding.state


def test_two_hundred_power_losses_lose_nothing(tmp_path: Path) -> None:
    losses = 0

    @settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 2**32))
    def run(seed: int) -> None:
        nonlocal losses
        disk = WeakDisk(Random(seed))
        live_through(disk, tmp_path / "one.jsonl")
        losses += disk.losses

    run()
    assert losses >= 200


def test_a_disk_that_lies_about_syncing_is_noticed(tmp_path: Path) -> None:
    # Without this the test above could not fail
    noticed = 0
    for seed in range(40):
        try:
            live_through(LyingDisk(Random(seed)), tmp_path / "one.jsonl")
        except Lost:
            noticed += 1
    assert noticed > 10
