"""Can this record be believed? Said in plain words."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from companion import places
from companion.errors import RecordError
from companion.plainfiles import opened
from companion.record.chain import LARGEST, Scan, lines_of, scan_file
from companion.record.clips import clips_of, misfit_of_clips
from companion.record.entry import Entry
from companion.record.first_entry import RECORD_VERSION, misfit_of_opening
from companion.record.keys import key_id
from companion.record.receipt import read_receipt, receipt_of
from companion.record.seal import head_of, seal_holds
from companion.record.tombstone import closing_of, misfit_of_tombstone
from companion.record.trusted import known_keys

State = Literal[
    "intact",
    "open",
    "torn",
    "empty",
    "broken",
    "count",
    "signature",
    "receipt",
    "stranger",
    "unreadable",
    "purged",
    "purged by another",
    "sound",
]
"""intact: closed, whole, signed with a known key (or vouched for by its receipt). open: whole so far, not ended.
torn: as open, and the last line was cut off while it was written. empty: no session began. broken: a line does not
fit. count, signature, receipt: these do not match. stranger: whole, but signed with a key this machine does not
know. unreadable: no record, or one from a newer program. purged: its content was destroyed on purpose. purged by
another: the same, by somebody who has not the key it was signed with. sound: as intact, open, torn or purged, but the
clips beside it are not those it names."""

_MEANING: dict[State, str] = {
    "intact": "nothing was changed since it was closed",
    "open": "what is there fits together, but there is no closing entry: the session was not ended, or its end "
    "was cut off",
    "torn": "the entries before it are whole; continuing the session sets the unfinished line aside",
    "empty": "no session began",
    "broken": "it was damaged or changed after it was written; nothing from there on can be believed",
    "count": "entries were removed or added",
    "signature": "it was changed after it was signed, or signed by someone else",
    "receipt": "this is not the record that the receipt was given for",
    "stranger": "it may be a rebuilt record: give its receipt code, or trust the signer: companion record trust KEY",
    "unreadable": "nothing can be said about it",
    "purged": "its content was destroyed on purpose; what is left proves that there was such a record",
    "purged by another": "whoever signed it did not purge it: the record may still be somewhere, and is what counts",
    "sound": "what it says can be believed; the sound kept beside it cannot, or not all of it",
}


@dataclass(frozen=True)
class Finding:
    """The outcome for one record."""

    path: Path
    state: State
    reason: str
    """What was found, in plain words."""
    entries: int = 0
    """How many entries fit, counted from the first."""
    line: int = 0
    """Where it broke, from 1; 0 when it did not."""
    torn: int = 0
    """Bytes of an unfinished last line."""
    receipt: str = ""
    """The receipt code that this record would have; empty unless closed."""
    clips: int = 0
    """How many sound clips it names."""

    @property
    def ok(self) -> bool:
        """True only for a record that is closed, whole and vouched for, or was purged by a known key."""
        return self.state in ("intact", "purged")

    @property
    def meaning(self) -> str:
        """What that means, in plain words."""
        return _MEANING[self.state]

    def sentence(self) -> str:
        """One line for people."""
        return f"{self.path}: {self.reason}; {self.meaning}"


def verify(path: Path, receipt: str | None = None, known: Collection[str] | None = None) -> Finding:
    """Check one record. `receipt` is the code someone else kept; `known` are public keys (64 hex digits each),
    this machine's when not given. Raises UsageError when `receipt` cannot be a code; otherwise never raises for
    what is in the file."""
    finding, found = examine(path, receipt, known)
    if finding.state in ("intact", "stranger", "open", "torn", "purged"):
        return _with_sound(finding, found)
    return finding


def records_in(folder: Path) -> list[Path]:
    """The records in `folder`, in the order of their names. Raises RecordError when it cannot be listed."""
    try:
        return sorted(p for p in folder.iterdir() if p.suffix == ".jsonl")
    except OSError as fault:
        raise RecordError(f"{folder}: this folder cannot be listed ({fault.strerror})") from fault


def mentions(path: Path, word: str) -> bool:
    """Whether a line of the file holds `word`: a quick look, without verifying. Raises RecordError."""
    try:
        with opened(path, LARGEST) as file:
            return any(word.encode("utf-8") in line for line in lines_of(file))
    except OSError as fault:
        raise RecordError(f"{path}: it cannot be read ({fault.strerror})") from fault


def examine(path: Path, receipt: str | None, known: Collection[str] | None) -> tuple[Finding, Scan]:
    """`verify`, and what was read on the way."""
    wanted = None if receipt is None else read_receipt(receipt)
    try:
        found = scan_file(path)
    except FileNotFoundError:
        return Finding(path, "unreadable", "there is no such file"), Scan()
    except OSError as fault:
        return Finding(path, "unreadable", f"it cannot be read ({fault.strerror})"), Scan()
    keys = known_keys(places.keys()) if known is None else known
    return _judge(path, found, wanted, keys), found


def _with_sound(finding: Finding, found: Scan) -> Finding:
    """The same, with what is to be said of the clips beside the record."""
    entries = [] if found.stone is not None else found.entries
    count = len(clips_of(entries))
    wrong = misfit_of_clips(finding.path, entries, finding.state not in ("open", "torn"))
    if not wrong:
        return replace(finding, reason=f"{finding.reason}, {_clips(count)} whole", clips=count) if count else finding
    state: State = "stranger" if finding.state == "stranger" else "sound"
    return replace(finding, state=state, reason=f"{finding.reason}; but of {_clips(count)} {wrong}", clips=count)


def _clips(count: int) -> str:
    return f"{count} sound clip{'' if count == 1 else 's'}"


def _judge(path: Path, found: Scan, wanted: str | None, known: Collection[str]) -> Finding:
    count = len(found.entries)
    if found.fault_line:
        reason = f"broken at line {found.fault_line}: {found.fault}"
        return Finding(path, "broken", reason, count, found.fault_line)
    if found.stone is not None:
        return _judge_tombstone(path, found.stone, wanted, known)
    if not count:
        return Finding(path, "empty", "holds no complete entry", torn=len(found.torn))
    wrong = misfit_of_opening(found.entries[0])
    if wrong:
        newer = "newer program" in wrong
        return Finding(path, "unreadable" if newer else "broken", f"line 1: {wrong}", count, 1)
    return _judge_end(path, found, wanted, known)


def _judge_end(path: Path, found: Scan, wanted: str | None, known: Collection[str]) -> Finding:
    count, last, opening = len(found.entries), found.entries[-1], found.entries[0].body
    if not found.closed:
        if wanted is not None:
            reason = f"{_entries(count)} and no closing entry, though a receipt {wanted} was given"
            return Finding(path, "receipt", reason, count, torn=len(found.torn))
        if found.torn:
            reason = f"the last line was cut off while being written ({len(found.torn)} bytes after {_entries(count)})"
            return Finding(path, "torn", reason, count, torn=len(found.torn))
        return Finding(path, "open", f"intact and still open, {_entries(count)}", count)
    code = receipt_of(head_of(last))
    if last.body.get("count") != count:
        reason = f"the closing entry counts {last.body.get('count')} entries, it is entry number {count}"
        return Finding(path, "count", reason, count, count)
    if not seal_holds(last, str(opening["public_key"])):
        return Finding(path, "signature", "the signature of the closing entry is wrong", count, count)
    if last.body.get("receipt") != code:
        reason = f"the closing entry holds the receipt {last.body.get('receipt')}, its content gives {code}"
        return Finding(path, "receipt", reason, count, count)
    if wanted is not None and wanted != code:
        return Finding(path, "receipt", f"the receipt {wanted} does not match, this record's is {code}", count)
    key, ours = opening["key_id"], opening["public_key"] in known
    if not ours and wanted is None:
        reason = f"whole and closed, {count} entries, but signed with the unknown key {key}"
        return Finding(path, "stranger", reason, count, receipt=code)
    vouched = f"signed with the known key {key}" if ours else f"signed with the unknown key {key}"
    matched = "" if wanted is None else ", and the receipt matches"
    return Finding(path, "intact", f"intact and closed, {count} entries, {vouched}{matched}", count, receipt=code)


def _judge_tombstone(path: Path, stone: Entry, wanted: str | None, known: Collection[str]) -> Finding:
    version = stone.body.get("record_version")
    if type(version) is int and version > RECORD_VERSION:
        return Finding(path, "unreadable", f"purged in version {version} by a newer program", line=1)
    wrong = misfit_of_tombstone(stone)
    if wrong:
        return Finding(path, "signature", wrong, line=1)
    closing = closing_of(stone)
    code = "" if closing is None else receipt_of(head_of(closing))
    if wanted is not None and wanted != code:
        theirs = f"this record's was {code}" if code else "this record was never closed"
        return Finding(path, "receipt", f"purged, and the receipt {wanted} does not match: {theirs}")
    signer = stone.body["purged_by"]
    whose = f"by the {'known' if signer in known else 'unknown'} key {key_id(signer)}"
    if signer != stone.body.get("public_key"):
        reason = f"purged, {_entries(stone.n)}, {whose}, not by the key it was signed with"
        return Finding(path, "purged by another", reason, stone.n, receipt=code)
    if signer not in known and wanted is None:
        reason = f"purged, {_entries(stone.n)}, but {whose}"
        return Finding(path, "stranger", reason, stone.n, receipt=code)
    was = "chain intact" if closing is not None else f"it was {stone.body['was']}"
    matched = "" if wanted is None else ", and the receipt matches"
    reason = f"purged, {was}, {_entries(stone.n)}, {whose}, reason: {stone.body.get('reason')}{matched}"
    return Finding(path, "purged", reason, stone.n, receipt=code)


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"
