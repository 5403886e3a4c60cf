"""Lines of a terminal, broken between words."""

import shutil
import sys
import textwrap

from companion.cli.terminal import plain


def line(text: str, lead: str = "") -> str:
    """`text` after `lead`, in as many lines as the terminal needs; elsewhere, as in a file, it stays one."""
    text = plain(text)
    if not sys.stdout.isatty():
        return lead + text
    width = max(40, shutil.get_terminal_size().columns) - 1
    return textwrap.fill(
        text,
        width,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_long_words=False,
        break_on_hyphens=False,
    )
