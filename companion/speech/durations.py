"""Durations as people write and say them."""

import re

from companion.speech.language import tell

_WRITTEN = re.compile(r"^(\d{1,4}) (s|min)$")


def parse_seconds(written: object) -> object:
    """`20 s` -> 20, `2 min` -> 120; whole numbers pass. Raises ValueError for other text."""
    if not isinstance(written, str):
        return written
    found = _WRITTEN.match(written)
    if not found:
        raise ValueError(f"`{written}` is not a duration; accepted: a whole number and `s` or `min`, such as `30 s`")
    return int(found[1]) * (60 if found[2] == "min" else 1)


def said(seconds: int, language: str = "en-US") -> str:
    """30 -> `30 seconds`, 90 -> `1 minute 30 seconds`."""
    minutes, rest = divmod(max(seconds, 0), 60)
    parts = []
    if minutes:
        parts.append(tell(language, "minute" if minutes == 1 else "minutes", n=minutes))
    if rest or not minutes:
        parts.append(tell(language, "second" if rest == 1 else "seconds", n=rest))
    return " ".join(parts)
