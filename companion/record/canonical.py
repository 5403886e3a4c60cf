"""The bytes that are hashed: RFC 8785 canonical JSON, without floats.

A float is refused because its text differs between programs: times are integer milliseconds, doses decimal strings.
"""

import json
from typing import Any

import rfc8785

from companion.errors import RecordError

LARGEST = 2**53 - 1
"""Whole numbers beyond it are not exact in every JSON reader (RFC 7493, section 2.2)."""


def _no_float(text: str) -> Any:
    raise ValueError(f"it holds {text}, and only whole numbers are written")


def _whole(text: str) -> int:
    if len(text) > 17 or abs(int(text)) > LARGEST:
        raise ValueError("it holds a number too large to be exact")
    return int(text)


_DECODER = json.JSONDecoder(parse_float=_no_float, parse_int=_whole, parse_constant=_no_float)
_ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def canonical(value: object) -> bytes:
    """RFC 8785 bytes of a JSON value. Raises RecordError naming what has no place in a record, and where."""
    try:
        _check(value, "entry")
        return rfc8785.dumps(value)  # type: ignore[arg-type]  # _check has narrowed it to JSON values
    except (rfc8785.CanonicalizationError, UnicodeEncodeError) as fault:
        raise RecordError(f"entry: not writable as JSON text ({fault}); text must be whole Unicode") from fault
    except RecursionError as fault:
        raise RecordError("entry: nested too deeply") from fault


def parse(line: bytes) -> dict[str, Any]:
    """The JSON object that `line` (without its newline) is. Raises ValueError, in plain words, unless it is
    an object written in exactly its canonical bytes."""
    try:
        value = _DECODER.decode(line.decode("utf-8"))
    except UnicodeDecodeError as fault:
        raise ValueError("it is not UTF-8 text") from fault
    except RecursionError as fault:
        raise ValueError("it is nested too deeply") from fault
    except json.JSONDecodeError as fault:
        raise ValueError("it is not JSON") from fault
    if not isinstance(value, dict):
        raise ValueError("it is not a JSON object")
    if _quick(line, value) != line:
        raise ValueError("its bytes are not the canonical form of what they say")
    return value


def _quick(line: bytes, value: dict[str, Any]) -> bytes:
    """The standard library's C encoder gives RFC 8785's bytes, several times faster, except where keys hold
    characters beyond U+FFFF: RFC 8785 sorts by UTF-16 units, Python by code points."""
    try:
        if line.isascii() or max(line) < 0xF0:
            return _ENCODER.encode(value).encode("utf-8")
        return rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, UnicodeEncodeError) as fault:
        raise ValueError("it holds text that is not whole Unicode") from fault


def _check(value: object, where: str) -> None:
    if value is None or isinstance(value, str | bool):
        return
    if isinstance(value, int):
        if abs(value) > LARGEST:
            raise RecordError(f"{where}: {value} is too large; whole numbers up to {LARGEST} are accepted")
    elif isinstance(value, dict):
        for key, item in value.items():
            if not isinstance(key, str):
                raise RecordError(f"{where}: the key {key!r} is not text; keys are text")
            _check(item, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for place, item in enumerate(value):
            _check(item, f"{where}[{place}]")
    else:
        raise RecordError(
            f"{where}: {value!r} is a {type(value).__name__}; text, whole numbers, true, false, null, "
            "lists and objects are accepted (doses as decimal strings, times as milliseconds)"
        )
