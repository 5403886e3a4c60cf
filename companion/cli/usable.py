"""`companion usable`: may this vial be used today, is the dose due, is that glucose low?"""

import re
from collections.abc import Callable
from datetime import date, datetime
from typing import Annotated, TypeVar

import typer

from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.dose.conversions import convert
from companion.dose.dates import DAYS_ONCE_OPENED, discard_on, due, why_not_usable
from companion.dose.glucose import ADA, JBDS, glucose_cautions, glucose_level, parse_glucose
from companion.errors import Miswritten, UsageError
from companion.speech.calendar_words import read_date
from companion.speech.numbers import half_up, written

T = TypeVar("T")

NOT_NOW = 2
"""Exit code where the answer is no: not usable, not due, low."""

_LIMITS = {"ada": ADA, "jbds": JBDS}
_MEANS = {
    "not low": "Not low",
    "level 1": "Low, level 1: treat it, and hold insulin",
    "level 2": "Low, level 2: treat it now, and call the doctor",
}


def usable(
    expiry: Annotated[str | None, typer.Option(help='Printed by the maker: "2031-06" or "2031-06-15".')] = None,
    opened: Annotated[str | None, typer.Option(help='Day of the first puncture, "2030-02-04"; none: unopened.')] = None,
    keeps: Annotated[
        str, typer.Option(help="Days it keeps once opened, where the label says otherwise.")
    ] = f"{DAYS_ONCE_OPENED} days",
    due_at: Annotated[str | None, typer.Option("--due", help='Time the dose is due today, such as "08:00".')] = None,
    window: Annotated[str, typer.Option(help='Accepted before and after that, such as "30 min".')] = "30 min",
    glucose: Annotated[str | None, typer.Option(help='Reading, such as "69 mg/dL" or "3.9 mmol/L".')] = None,
    limits: Annotated[str, typer.Option(help="Limits of low glucose: ada (70 and 54 mg/dL), jbds (4 mmol/L).")] = "ada",
    on: Annotated[str | None, typer.Option(help='Judged for another moment, such as "2030-03-04 08:20".')] = None,
) -> None:
    """Judge a vial's dates, the time a dose is due, or a glucose reading. Any of them, or all at once.

    Exit code 0: yes to all. 2: no to one of them; the line says why. 1: something given cannot be worked with.
    """
    if opened is not None and expiry is None:
        raise UsageError("`--opened` needs `--expiry`, such as `--expiry 2031-06`: whichever comes first counts")
    if expiry is None and due_at is None and glucose is None:
        raise UsageError(
            'there is nothing to judge; accepted: `--expiry "2031-06"`, `--due "08:00"`, `--glucose "69 mg/dL"`'
        )
    now = RealClock().utc().astimezone().replace(tzinfo=None) if on is None else _moment(on)
    answers = []
    if expiry is not None:
        answers.append(_vial(now.date(), expiry, opened, keeps))
    if due_at is not None:
        answers.append(_due(now, due_at, window))
    if glucose is not None:
        answers.append(_glucose(glucose, limits))
    for _, line in answers:
        tell(line)
    tell("\nFor training; the label, the order and local policy decide.")
    if not all(yes for yes, _ in answers):
        raise typer.Exit(NOT_NOW)


def _vial(today: date, expiry: str, opened: str | None, keeps: str) -> tuple[bool, str]:
    found = re.fullmatch(r"([0-9]{1,3})( days?)?", keeps.strip())
    if not found:
        raise UsageError(f"`--keeps {keeps}` is no number of days; accepted: such as `28 days`")
    days, last = int(found[1]), _expiry(expiry)
    first = None if opened is None else _read("--opened", opened, _whole_day, "a day such as `2030-02-04`")
    why = why_not_usable(today, last, first, sealed=opened is None, days=days)
    if why is not None:
        return False, f"Vial: {why}"
    until = f"through {last}" if first is None else f"discard it on {discard_on(first, last, days)}"
    return True, f"Vial: it may be used on {today}; {until}."


def _expiry(text: str) -> date:
    return _read("--expiry", text, lambda told: _date(told)[0], "a month or day such as `2031-06` or `2031-06-15`")


def _date(text: str) -> tuple[date, bool]:
    told = read_date(text)
    if told is None:
        raise ValueError(text)
    return told


def _whole_day(text: str) -> date:
    day, month_only = _date(text)
    if month_only:
        raise ValueError(text)
    return day


def _due(now: datetime, text: str, window: str) -> tuple[bool, str]:
    clock = _read("--due", text, lambda told: datetime.strptime(told, "%H:%M").time(), "hours and minutes: `08:00`")
    width = _read("--window", window, _minutes, "minutes such as `30 min`")
    timing = due(datetime.combine(now.date(), clock), now, width, width)
    return (
        timing.verdict == "due",
        f"Dose: {timing.words()} ({now:%H:%M}, due {clock:%H:%M}, {width} minutes either way)",
    )


def _glucose(text: str, limits: str) -> tuple[bool, str]:
    if limits not in _LIMITS:
        raise UsageError(f"`--limits {limits}` is not known; accepted: {', '.join(_LIMITS)}")
    reading, guidance = parse_glucose(text), _LIMITS[limits]
    level = glucose_level(reading, guidance)
    means = _MEANS[level] if guidance.level_2 is not None or level == "not low" else "Low: treat it, and hold insulin"
    other = "mmol/L" if str(reading.unit) == "mg/dL" else "mg/dL"
    figure = half_up(convert(reading, other).exact.value, 1 if other == "mmol/L" else 0)
    doubts = "".join(f" {line}" for line in glucose_cautions(reading))
    return (
        level == "not low" and not doubts,
        f"Glucose: {means} ({guidance.source}). About {written(figure)} {other}.{doubts}",
    )


def _moment(text: str) -> datetime:
    return _read("--on", text, datetime.fromisoformat, "a day, or a day and a time: `2030-03-04 08:20`")


def _minutes(text: str) -> int:
    found = re.fullmatch(r"([0-9]{1,3}) ?min", text)
    if not found:
        raise ValueError(text)
    return int(found[1])


def _read(option: str, text: str, reading: Callable[[str], T], accepted: str) -> T:
    try:
        return reading(text.strip())
    except Miswritten as fault:
        raise UsageError(fault.about(text, f"`{option}`", accepted)) from fault
    except ValueError as fault:
        raise UsageError(f"`{option} {text}` cannot be read; accepted: {accepted}") from fault
