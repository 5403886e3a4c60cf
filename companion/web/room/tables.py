"""Tables to take along: CSV (RFC 4180), UTF-8."""

import csv
import io
from collections.abc import Iterable, Sequence


def to_csv(names: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A line of headings and the rows. Text that a spreadsheet would take for a formula gets an apostrophe before it
    (OWASP, CSV injection; from memory), since some of it comes from people."""
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
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{value}"
    return value
