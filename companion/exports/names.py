"""Identifiers that are the same whenever a record is exported.

A session's id is random and stands in every entry; an entry's number never changes. Both are fixed when the entry is
written, and a UUID of version 5 (RFC 4122, section 4.3) over them is therefore fixed too: an export can be made and
sent again without anything being counted twice.
"""

import base64
import uuid

BASE = "https://procedure-companion.invalid"
"""Begins the IRIs of this program's own concepts. `.invalid` belongs to nobody (RFC 2606), so none of them claims a
domain or can be taken for a page."""


def iri(*parts: str) -> str:
    """`BASE/procedures/insulin/steps/inject` from its parts. Parts are slugs, tags or hex digits."""
    return "/".join((BASE, *parts))


def fixed_id(session: uuid.UUID, *parts: str | int) -> uuid.UUID:
    """The id of something about a session: the same parts always give the same id."""
    return uuid.uuid5(session, "/".join(str(part) for part in parts))


def hash_uri(sha256: str) -> str:
    """A SHA-256 (64 hex digits) as a URI of RFC 6920: `ni:///sha-256;...`."""
    return "ni:///sha-256;" + base64.urlsafe_b64encode(bytes.fromhex(sha256)).rstrip(b"=").decode("ascii")


def iso_duration(ms: int) -> str:
    """Milliseconds as an ISO 8601 duration in hundredths of a second, such as `PT1M2.5S`."""
    hundredths = (ms + 5) // 10
    minutes, rest = divmod(hundredths, 6000)
    hours, minutes = divmod(minutes, 60)
    seconds, part = divmod(rest, 100)
    small = f"{seconds}.{part:02d}".rstrip("0").rstrip(".")
    return "PT" + (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes else "") + f"{small}S"
