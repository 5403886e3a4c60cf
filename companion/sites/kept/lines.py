"""A site history as lines: how one is written, and what can be read from a file that may be damaged.

Each line is a JSON object with its number and the start of a SHA-256 over the rest of it. The first line, number 0,
says which version the file is and under which tag. What is damaged is reported and passed over, never repaired.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from companion.errors import RecordError
from companion.record.canonical import canonical, parse
from companion.record.entry import stamp
from companion.sites.history import SITE_EVENT, History, Noted, SiteEvent

SITES_VERSION = 1
"""Raised whenever a line's meaning changes; `LIFTS` then gains a step from the version before."""

Body = dict[str, Any]
LIFTS: Mapping[int, Callable[[Body], Body]] = {}
"""From a version to the one after it, one line's body at a time. Version 1 is the only one so far."""

_OPENED = "opened"


@dataclass(frozen=True)
class Found:
    """What a file holds."""

    tag: str
    history: History
    last: int
    """Number of the last line, or the number a damaged last line must have had."""
    ended: bool
    """Whether the last line has its end; one without was never confirmed, unless it is whole."""
    damage: tuple[str, ...] = ()
    """One sentence each: the line, and what is wrong."""


def opening_line(tag: str, utc: datetime) -> bytes:
    """Line 0, with its end."""
    return _line({"kind": _OPENED, "n": 0, "tag": tag, "utc": stamp(utc), "version": SITES_VERSION})


def event_line(n: int, event: SiteEvent, utc: datetime) -> bytes:
    """Line `n`, with its end. `utc` is when it was noted; the event's own day is the ward's."""
    return _line({**event.model_dump(mode="json"), "n": n, "utc": stamp(utc)})


def read_lines(data: bytes, lifts: Mapping[int, Callable[[Body], Body]] = LIFTS, to: int = SITES_VERSION) -> Found:
    """Everything that can be believed in a file's bytes. Raises RecordError when its first line cannot be, or is of
    a later version than this program reads."""
    *lines, rest = data.split(b"\n")
    ended = not rest
    if rest:
        lines.append(rest)
    opening = _opening(lines[0] if lines else b"", to)
    noted: list[Noted] = []
    damage: list[str] = []
    n = 0
    for number, line in enumerate(lines[1:], 2):
        try:
            body = _checked(line)
            event = _event(body, opening["version"], lifts, to)
        except ValueError as fault:
            n += 1
            cut = number == len(lines) and not ended
            why = "was cut off while being written and never confirmed" if cut else f"is damaged ({fault})"
            damage.append(f"line {number} {why}")
            continue
        if body["n"] != n + 1:
            damage.append(f"line {number} has number {body['n']} where {n + 1} was due: lines are missing or moved")
        n = max(n, body["n"])
        if body["n"] in {each.n for each in noted}:
            continue
        noted.append(Noted(body["n"], event))
    return Found(opening["tag"], History(tuple(noted)), n, ended, tuple(damage))


def _line(body: Body) -> bytes:
    return canonical({**body, "check": _check(body)}) + b"\n"


def _check(body: Body) -> str:
    return hashlib.sha256(canonical(body)).hexdigest()[:16]


def _checked(line: bytes) -> Body:
    """A line's body without its check. Raises ValueError, in plain words, unless both fit."""
    body = parse(line)
    if body.pop("check", None) != _check(body):
        raise ValueError("its check does not fit what it says")
    if type(body.get("n")) is not int:
        raise ValueError("it has no number")
    return body


def _opening(line: bytes, to: int) -> Body:
    try:
        body = _checked(line)
    except ValueError as fault:
        raise RecordError(
            f"line 1 is damaged ({fault}), so nothing in it can be believed; look at the paper"
        ) from fault
    version = body.get("version")
    if body.get("kind") != _OPENED or body["n"] != 0 or not isinstance(body.get("tag"), str):
        raise RecordError("line 1 is not the beginning of a site history")
    if type(version) is not int or version < 1:
        raise RecordError("line 1 does not say which version it is")
    if version > to:
        raise RecordError(f"written in version {version} by a newer program; this one reads up to version {to}")
    return body


def _event(body: Body, version: int, lifts: Mapping[int, Callable[[Body], Body]], to: int) -> SiteEvent:
    for step in range(version, to):
        body = lifts[step](body)
    try:
        return SITE_EVENT.validate_python({key: value for key, value in body.items() if key not in ("n", "utc")})
    except ValidationError as fault:
        raise ValueError("it is no note that this program knows") from fault
