"""CSV (RFC 4180), the only writer of it: every table may be opened by a spreadsheet, and some text in it comes from
people nobody vouches for."""

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Sequence

_FORMULAS = ("=", "+", "-", "@")
_FIRST = ("\t", "\r", "\n", "\0")
"""What some spreadsheets drop from the beginning of a cell."""

_CELL_ENDS = re.compile("([;\t\r\n])")
"""What ends a cell where a spreadsheet does not separate by commas: quotes then protect nothing after it."""

_NUMBER = re.compile(r"-[0-9]+(\.[0-9]+)?\Z", re.ASCII)


def to_csv(names: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A line of headings and the rows, in UTF-8. Text that a spreadsheet would take for a formula gets an apostrophe
    before it (OWASP ASVS 5.0, 1.2.10); a number stays a number, also a negative one."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(names)
    for row in rows:
        writer.writerow([_plain(value) for value in row])
    return text.getvalue().encode("utf-8")


def _plain(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return _defused(value) if isinstance(value, str) else value


def _defused(text: str) -> str:
    if _NUMBER.match(text):
        return text
    first, *later = _CELL_ENDS.split(text)
    quote = "'" if text[:1] in _FIRST or _computes(text) else ""
    return quote + first + "".join(f"'{part}" if _computes(part) else part for part in later)


def _computes(part: str) -> bool:
    """Whether the first character that is seen begins a formula, also in its full-width or small form."""
    first = next((char for char in part if not _unseen(char)), "")
    return unicodedata.normalize("NFKC", first) in _FORMULAS


def _unseen(char: str) -> bool:
    """Blanks, controls, and what has no width: a byte order mark among them."""
    return char.isspace() or unicodedata.category(char) in ("Cc", "Cf")
