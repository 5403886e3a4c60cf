"""Nothing false verifies: bytes flipped, parts cut out, lines moved, whole chains rebuilt."""

import json
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest

from companion.errors import RecordError, UsageError
from companion.record.canonical import canonical
from companion.record.entry import digest, entry_from_line
from companion.record.keys import key_id
from companion.record.reader import read_record
from companion.record.seal import sealed
from companion.record.verify import Finding, records_in, verify
from tests.record.making import FULL_OPENING, key, written

KNOWN = {key().public}
Values = list[dict[str, Any]]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record the size of the demo's: 150 entries, 75 kB."""
    return written(tmp_path_factory.mktemp("demo"), 150, opening=FULL_OPENING).path


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("small"), 5).path


def judged(path: Path, data: bytes) -> Finding:
    path.write_bytes(data)
    return verify(path, None, KNOWN)


def test_untouched_it_is_intact(demo: Path, small: Path, tmp_path: Path) -> None:
    for path in (demo, small):
        assert judged(tmp_path / "x.jsonl", path.read_bytes()).state == "intact"


def test_every_byte_of_a_record_flipped(small: Path, tmp_path: Path) -> None:
    data = small.read_bytes()
    chance, broken = Random(1), set()
    for place in range(len(data)):
        changed = bytearray(data)
        changed[place] ^= 1 << chance.randrange(8)
        finding = judged(tmp_path / "x.jsonl", bytes(changed))
        assert not finding.ok, (place, changed[place])
        broken.add(finding.state)
    # in the closing line a flip may still be JSON: its count, signature or receipt then give it away, and where its
    # kind was hit, that there is no closing entry
    assert broken == {"broken", "count", "signature", "receipt", "torn", "open"}


def test_a_thousand_flips_of_a_demo_sized_record(demo: Path, tmp_path: Path) -> None:
    data, chance = demo.read_bytes(), Random(2)
    for _ in range(1000):
        changed = bytearray(data)
        changed[chance.randrange(len(data))] ^= chance.randrange(1, 256)
        assert not judged(tmp_path / "x.jsonl", bytes(changed)).ok


def test_a_thousand_cuts_of_a_demo_sized_record(demo: Path, tmp_path: Path) -> None:
    data, chance = demo.read_bytes(), Random(3)
    lines = data.splitlines(keepends=True)
    for n in range(1000):
        if n < 148:  # at the end of each line, where the chain alone would not notice
            cut = b"".join(lines[: n + 1])
            assert judged(tmp_path / "x.jsonl", cut).state == "open"
            continue
        start, end = sorted(chance.sample(range(len(data) + 1), 2))
        cut = data[:start] + (data[end:] if n % 2 else b"")
        assert not judged(tmp_path / "x.jsonl", cut).ok


def test_whole_lines_cut_out(demo: Path, tmp_path: Path) -> None:
    lines = demo.read_bytes().splitlines(keepends=True)
    for gone in range(len(lines) - 1):
        finding = judged(tmp_path / "x.jsonl", b"".join(lines[:gone] + lines[gone + 1 :]))
        assert (finding.state, finding.line) == ("broken", gone + 1)


def test_a_hundred_reorderings(demo: Path, tmp_path: Path) -> None:
    lines, chance = demo.read_bytes().splitlines(keepends=True), Random(4)
    for n in range(100):
        moved = list(lines)
        if n % 2:
            a, b = chance.sample(range(len(lines)), 2)
            moved[a], moved[b] = moved[b], moved[a]
        else:
            chance.shuffle(moved)
        assert judged(tmp_path / "x.jsonl", b"".join(moved)).state == "broken"


def rebuilt(values: Values) -> bytes:
    """The lines of `values`, numbered and chained anew as a forger would."""
    out, prev = b"", "0" * 64
    for n, value in enumerate(values):
        line = canonical({**value, "n": n, "prev": prev})
        prev = digest(line)
        out += line + b"\n"
    return out


def forged(data: bytes, chance: Random) -> Values:
    """A changed word, a missing line, a repeated line, or a time made up; the closing count put right."""
    values: Values = [json.loads(line) for line in data.splitlines()]
    place = chance.randrange(1, len(values) - 1)
    match chance.randrange(4):
        case 0:
            values[place]["body"]["event"]["phrase"] = "both figures agree"
        case 1:
            del values[place]
        case 2:
            values.insert(place, values[place])
        case _:
            values[place]["utc"] = "2031-03-04T05:06:07.000Z"
    values[-1]["body"]["count"] = len(values)
    return values


def resealed(values: Values, seed: int) -> bytes:
    """As `rebuilt`, and signed with key number `seed`."""
    signer = key(seed)
    values[-1]["body"] = {"count": len(values), "outcome": values[-1]["body"]["outcome"]}
    *lines, last = rebuilt(values).splitlines()
    return b"\n".join([*lines, sealed(entry_from_line(last), signer).line()]) + b"\n"


def test_a_hundred_rebuilt_chains_are_refused_by_signature_key_or_receipt(demo: Path, tmp_path: Path) -> None:
    data, chance, path = demo.read_bytes(), Random(5), tmp_path / "x.jsonl"
    receipt = verify(demo, None, KNOWN).receipt
    states = []
    for n in range(100):
        values = forged(data, chance)
        if n % 3 == 0:  # by someone without a key
            states.append(judged(path, rebuilt(values)).state)
            assert verify(path, receipt, KNOWN).state == "signature"
        elif n % 3 == 1:  # by someone with a key of their own, pinned in place of the right one
            other = key(9)
            values[0]["body"].update(public_key=other.public, key_id=key_id(other.public))
            states.append(judged(path, resealed(values, 9)).state)
            assert verify(path, receipt, KNOWN).state == "receipt"
        else:  # by someone with the right key: nothing but the receipt can tell
            states.append(judged(path, resealed(values, 7)).state)
            assert verify(path, receipt, KNOWN).state == "receipt"
    # the last third is the honest limit: who holds the key can sign anything, and only the receipt shows it
    assert {state: states.count(state) for state in states} == {"signature": 34, "stranger": 33, "intact": 33}


def test_a_receipt_vouches_for_a_record_from_another_machine(small: Path) -> None:
    receipt = verify(small, None, KNOWN).receipt
    assert verify(small, None, ()).state == "stranger"
    assert not verify(small, None, ()).ok
    assert verify(small, receipt, ()).ok
    with pytest.raises(UsageError, match="mistyped"):
        verify(small, receipt[:-1] + ("0" if receipt[-1] != "0" else "1"), ())


def test_a_receipt_shows_that_the_end_was_cut_off(small: Path, tmp_path: Path) -> None:
    receipt = verify(small, None, KNOWN).receipt
    path = tmp_path / "x.jsonl"
    path.write_bytes(b"".join(small.read_bytes().splitlines(keepends=True)[:-1]))
    assert verify(path, None, KNOWN).state == "open"
    finding = verify(path, receipt, KNOWN)
    assert finding.state == "receipt"
    assert "no closing entry, though a receipt" in finding.sentence()


def edit(change: Callable[[Values], object]) -> Callable[[bytes], bytes]:
    def act(data: bytes) -> bytes:
        values: Values = [json.loads(line) for line in data.splitlines()]
        change(values)
        return rebuilt(values)

    return act


@pytest.mark.parametrize(
    ("change", "state", "says"),
    [
        (lambda d: d[:0], "empty", "no complete entry"),
        (lambda d: d + b"{}\n", "broken", "line 6: its fields are not those"),
        (lambda d: d + d.splitlines(keepends=True)[-1], "broken", "line 6: there is something after the closing"),
        (lambda d: d + b"{", "broken", "line 6: there is something after the closing"),
        (lambda d: d.replace(b"rolled", b"rolIed", 1), "broken", "line 3: its link to the line before does not fit"),
        (lambda d: b"\n" + d, "broken", "line 1: it is not JSON"),
        (lambda d: d[d.index(b"\n") + 1 :], "broken", "line 1: the record does not begin with its opening"),
        (edit(lambda v: v[2].update(session="other")), "broken", "line 3: it belongs to another session"),
        (edit(lambda v: v[2].update(at_ms=-(2**53) + 1)), "broken", "which no clock shows"),
        (edit(lambda v: v[2].update(kind="opened")), "broken", "line 3: a second opening entry"),
        (edit(lambda v: v[2].update(utc="yesterday")), "broken", "line 3: its hash or its time is not in the right"),
        (edit(lambda v: v[2].update(at_ms=True)), "broken", "line 3: a field of it has the wrong type"),
        (edit(lambda v: v[2].update(body=[])), "broken", "line 3: its body is not an object"),
        (edit(lambda v: v[2].pop("kind")), "broken", "line 3: its fields are not those of an entry"),
        (edit(lambda v: v[0]["body"].update(procedure_text="x")), "broken", "line 1: the procedure in it is not the"),
        (edit(lambda v: v[0]["body"].update(key_id="0" * 16)), "broken", "line 1: the key in it is not whole"),
        (edit(lambda v: v[0]["body"].update(public_key="0" * 64)), "broken", "line 1: the key in it is not whole"),
        (edit(lambda v: v[0]["body"].pop("record_version")), "broken", "line 1: the record does not say which version"),
        (edit(lambda v: v[0]["body"].update(record_version=99)), "unreadable", "by a newer program; this one reads up"),
        (edit(lambda v: v[-1]["body"].update(count=6)), "count", "the closing entry counts 6 entries"),
        (edit(lambda v: v[-1]["body"].pop("count")), "count", "the closing entry counts None"),
        (edit(lambda v: v[-1]["body"].pop("signature")), "signature", "the signature of the closing entry is wrong"),
        (lambda d: d.replace(b'"receipt":"', b'"receipt":"0', 1), "receipt", "its content gives"),
    ],
)
def test_each_kind_of_change_is_named(
    small: Path, tmp_path: Path, change: Callable[[bytes], bytes], state: str, says: str
) -> None:
    finding = judged(tmp_path / "x.jsonl", change(small.read_bytes()))
    assert (finding.state, finding.ok) == (state, False)
    assert says in finding.sentence()
    assert finding.meaning in finding.sentence()
    with pytest.raises(RecordError):
        read_record(tmp_path / "x.jsonl")


def test_what_is_no_file_is_unreadable(tmp_path: Path) -> None:
    assert verify(tmp_path, None, KNOWN).state == "unreadable"
    assert verify(tmp_path / "gone.jsonl", None, KNOWN).state == "unreadable"
    assert verify(Path("/dev/zero"), None, KNOWN).state == "unreadable"


def test_a_folder_is_gone_through_in_order(tmp_path: Path) -> None:
    for name, close in (("b", True), ("a", False), ("c", True)):
        written(tmp_path / f"{name}.jsonl", 3, close=close)
    (tmp_path / "notes.txt").write_text("not a record")
    found = [(path.name, verify(path, None, KNOWN).state) for path in records_in(tmp_path)]
    assert found == [("a.jsonl", "open"), ("b.jsonl", "intact"), ("c.jsonl", "intact")]
    with pytest.raises(RecordError, match="this folder cannot be listed"):
        records_in(tmp_path / "gone")
