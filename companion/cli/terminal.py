"""Text of others on a terminal: what a record, a name or a server says is shown and never obeyed."""

import re
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.text import Text

_ACTING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters of ISO 6429 but line feed and tab, line breaks and directions of Unicode (Annex 9: the explicit
ones can show text in another order than it is stored in), and the bytes of a file's name that are no UTF-8."""


def plain(text: str) -> str:
    """`text` with every character that would act on the terminal written out, such as `\\x1b`."""
    return _ACTING.sub(_written, text)


def cell(text: str) -> "Text":
    """The same as a cell of a table; what looks like the table's own markup is only text."""
    from rich.text import Text  # here, since the first prompt should come soon

    return Text(plain(text))


def tell(text: str, err: bool = False) -> None:
    """Print a line that may hold text of others."""
    print(plain(text), file=sys.stderr if err else sys.stdout, flush=True)


def _written(found: re.Match[str]) -> str:
    code = ord(found[0])
    if 0xDC80 <= code <= 0xDCFF:  # how Python keeps a byte of a name that is no text (PEP 383)
        return f"\\x{code - 0xDC00:02x}"
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
