"""What a purge leaves: one line that proves there was such a record, and says nothing of what it said.

It keeps the closing entry, which tells no more of the session than its outcome, and whose signature and receipt go
on holding. The hash of everything else cannot be guessed back, since a random salt went with the content.
"""

import re
from dataclasses import replace
from datetime import date

from companion.errors import RecordError, UsageError
from companion.ports.clock import Clock
from companion.record.chain import Scan
from companion.record.entry import CLOSED, PURGED, Entry, digest, entry_from_line, stamp
from companion.record.first_entry import RECORD_VERSION
from companion.record.keys import SigningKey, signed_by
from companion.record.privacy import refuse_private
from companion.record.seal import seal_holds

_PURPOSE = b"procedure-companion tombstone\n"
_REASON = re.compile(r"[a-z][a-z -]{0,39}\Z")


def tombstone(found: Scan, reason: str, clock: Clock, key: SigningKey) -> Entry:
    """The tombstone of a record of which `found`, one entry at least, was read. Raises UsageError as `check_reason`."""
    check_reason(reason)
    first, last, whole = found.entries[0], found.entries[-1], not found.fault_line
    closing = last if whole and found.closed else None
    stone = Entry(
        n=len(found.entries),
        prev=found.head,
        session=first.session,
        utc=stamp(clock.utc()),
        mono_ms=clock.now_ms(),
        at_ms=last.at_ms,
        kind=PURGED,
        body={
            "record_version": RECORD_VERSION,
            "was": "closed" if closing else "open" if whole else "damaged",
            "closing": closing.value() if closing else None,
            "public_key": first.body.get("public_key"),
            "purged_by": key.public,
            "reason": reason,
        },
    )
    return replace(stone, body={**stone.body, "signature": key.sign(_PURPOSE + stone.line())})


def check_reason(reason: str) -> None:
    """Raises UsageError when `reason` is not a few words without details: it is kept for good."""
    if not _REASON.match(reason):
        raise UsageError(f"reason {reason!r}: up to 40 lower-case letters, spaces and hyphens are accepted, no details")
    refuse_private("--reason", reason, date.max)


def misfit_of_tombstone(stone: Entry) -> str:
    """What is wrong with a tombstone, in plain words; empty when nothing is."""
    body = dict(stone.body)
    signature, signer = body.pop("signature", None), body.get("purged_by")
    if not _REASON.match(str(body.get("reason"))):
        return "the reason in the tombstone is none that a purge leaves"
    if not isinstance(signature, str) or not isinstance(signer, str):
        return "the tombstone is not signed"
    if not signed_by(signer, _PURPOSE + replace(stone, body=body).line(), signature):
        return "the signature of the tombstone is wrong"
    closing = closing_of(stone)
    if closing is None:
        return "" if body.get("was") in ("open", "damaged") else "the tombstone does not hold the closing entry"
    if digest(closing.line()) != stone.prev or closing.session != stone.session:
        return "the closing entry in the tombstone is not the one it names"
    if closing.body.get("count") != stone.n or not seal_holds(closing, str(body.get("public_key"))):
        return "the count or signature of the closing entry in the tombstone is wrong"
    return ""


def closing_of(stone: Entry) -> Entry | None:
    """The closing entry of the record that was purged; None when it had none."""
    value = stone.body.get("closing")
    if not isinstance(value, dict):
        return None
    try:
        closing = entry_from_line(Entry(**value).line())
    except (TypeError, ValueError, RecordError):
        return None
    return closing if closing.kind == CLOSED else None
