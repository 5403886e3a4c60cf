"""Records that somebody has made up and signed: real ones with a value changed, chained and sealed anew.

Everything is drawn from a seed, so that a case that fails can be made again.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

from companion.record.canonical import canonical
from companion.record.entry import CLOSED, digest, entry_from_line
from companion.record.first_entry import sha256_of
from companion.record.keys import key_id
from companion.record.seal import sealed
from tests.record.making import key

Values = list[dict[str, Any]]

DEEP: Any = []
for _ in range(60):
    DEEP = [DEEP]

ODD: tuple[Any, ...] = (
    *(None, True, False, 0, 1, -1, 7, 2**53 - 1, -(2**53) + 1, 10**12, 86_400_000 * 366 * 900),
    *("", " ", "x", "x" * 20_000, "9" * 400, "-0", "1e9", "NaN", "inf", "0.1", "12.25", "²³", "٤١", "true"),
    *("2030-99-99", "0001-01-01", "9999-12-31", "2030-02-30T25:61:61Z", "24:00", "-1 ms", "1000000000000 units"),
    *("\x1b]0;title\x07\x1b[2J", "\x9b31m", "\u202egnp.exe", "\u2066", "\u0000", "a\nb", "a\r\n\r\nb\tc", "\ufeff"),
    *("👩‍⚕️" * 40, "e\u0301" * 200, "\ud7ff\ue000", "\U0010ffff", "[/bold]", "[link=x]", "{}", "%s%n", "<script>"),
    *("-->", "]]>", "=1+1", "../../etc/passwd", "/dev/zero", "a/b", ".", "ordered-dose", "started", "judged", "given"),
    *([], {}, [[]], [None], [0], ["x"], {"": ""}, {"x": []}, {"kind": "replied"}, {"kind": "started"}, DEEP),
)
"""What no session writes there: values JSON can hold, as in the usual lists of awkward strings (common practice)."""


def values_of(record: Path) -> Values:
    """The entries of a record as plain values."""
    return [json.loads(line) for line in record.read_bytes().splitlines()]


def hostile(base: Values, chance: Random) -> bytes:
    """A record with one to three values that are not what they should be, whole and signed all the same."""
    values: Values = _copied(base)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        _spoil(chance.choice(values), chance)
    if chance.random() < 0.1:
        values.insert(chance.randrange(1, len(values)), _copied(chance.choice(values[1:])))
    if chance.random() < 0.3 and values[-1].get("kind") == CLOSED:
        values.pop()
    return signed(values)


def signed(values: Values, seed: int = 7) -> bytes:
    """The lines, numbered, chained and closed with key number `seed`; the tests' machine knows number 7."""
    opening = values[0].get("body")
    if isinstance(opening, dict):
        opening |= {"public_key": key(seed).public, "key_id": key_id(key(seed).public)}
        if isinstance(opening.get("procedure_text"), str):
            opening["procedure_sha256"] = sha256_of(opening["procedure_text"])
    out, prev = b"", "0" * 64
    for n, value in enumerate(values):
        line = canonical({**value, "n": n, "prev": prev})
        if value.get("kind") == CLOSED and n == len(values) - 1 and isinstance(value.get("body"), dict):
            bare = {name: item for name, item in value["body"].items() if name not in ("signature", "receipt")}
            try:
                body = {**bare, "count": n + 1}
                line = sealed(
                    entry_from_line(canonical({**value, "n": n, "prev": prev, "body": body})), key(seed)
                ).line()
            except ValueError:  # the closing entry itself was spoilt
                pass
        prev = digest(line)
        out += line + b"\n"
    return out


def _spoil(entry: dict[str, Any], chance: Random) -> None:
    """Change one value somewhere in the entry; most of them in its body, since the rest is checked by the chain."""
    inside = list(_places(entry.get("body")))
    top = [(entry, name) for name in sorted(entry) if name not in ("n", "prev")]
    if not top:
        return
    holder, name = chance.choice(inside if inside and chance.random() < 0.85 else top)
    if isinstance(holder, dict) and chance.random() < 0.15:
        del holder[name]
    elif isinstance(holder, dict) and chance.random() < 0.1:
        holder[chance.choice(("x", "says", "kind", "at_ms", "\u202e"))] = _copied(chance.choice(ODD))
    else:
        holder[name] = _copied(chance.choice(ODD))


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every place in it where a value stands: the holder, and the name or number there."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for name, inside in pairs:
        yield value, name
        yield from _places(inside)


def _copied(value: Any) -> Any:
    """The same again, so that no case changes what the next one starts from."""
    return json.loads(json.dumps(value))
