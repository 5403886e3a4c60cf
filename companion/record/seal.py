"""What is signed when a record closes: the head, a hash that covers every line of the record."""

from dataclasses import replace

from companion.record.entry import Entry, digest
from companion.record.keys import SigningKey, signed_by
from companion.record.receipt import receipt_of

_PURPOSE = b"procedure-companion record head\n"
"""Goes before the head, so that a signature made for anything else is none here."""


def head_of(closing: Entry) -> str:
    """The head: SHA-256 of the closing entry before its signature and receipt were put in. Through `prev` it
    covers every line before."""
    body = {key: item for key, item in closing.body.items() if key not in ("signature", "receipt")}
    return digest(replace(closing, body=body).line())


def sealed(closing: Entry, key: SigningKey) -> Entry:
    """The closing entry with the signature of its head and the receipt code."""
    head = head_of(closing)
    signature = key.sign(_PURPOSE + bytes.fromhex(head))
    return replace(closing, body={**closing.body, "signature": signature, "receipt": receipt_of(head)})


def seal_holds(closing: Entry, public: str) -> bool:
    """True when the signature in `closing` is that of `public` over the head."""
    signature = closing.body.get("signature")
    return isinstance(signature, str) and signed_by(public, _PURPOSE + bytes.fromhex(head_of(closing)), signature)
