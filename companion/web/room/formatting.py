"""Figures and texts as the pages of the room show them."""

LONGEST = 400
"""Characters of a text that are shown; nothing that a session writes comes near it."""


def clock(ms: float | None) -> str:
    """Session time as minutes, seconds and tenths, such as `03:07.4`; a dash for none."""
    if ms is None:
        return "–"
    tenths = round(max(ms, 0) / 100)
    return f"{tenths // 600:02d}:{tenths % 600 / 10:04.1f}"


def seconds(ms: float | None) -> str:
    """A duration such as `12.4 s`; a dash for none."""
    return "–" if ms is None else f"{ms / 1000:.1f} s"


def when(utc: str) -> str:
    """A time stamp for people: `2030-03-04 08:05:00 UTC`."""
    return f"{utc[:10]} {utc[11:19]} UTC"


def short(text: str) -> str:
    """A text that may be of any length, cut where it is longer than any honest one."""
    if len(text) <= LONGEST:
        return text
    return f"{text[:LONGEST]}… ({len(text) - LONGEST:,} more characters, too many to show)"


def share(part: int, whole: int) -> str:
    """`3 of 40 (8 %)`."""
    return f"{part} of {whole} ({100 * part / whole:.0f} %)" if whole else "–"


def figure(value: float | None, places: int = 2) -> str:
    """A figure with a true minus sign, such as `−0.13`; a dash for none."""
    return "–" if value is None else f"{value:.{places}f}".replace("-", "−")
