"""Dates and times of day, as they are written and said: each function gives the forms, the program's own first."""

import re
from calendar import monthrange
from datetime import date, time
from functools import lru_cache

from num2words import num2words

from companion.errors import Miswritten
from companion.speech.numbers import digit_runs

NO_DAY = "does not tell the day from the month"


def _words(number: int, to: str = "cardinal") -> str:
    return str(num2words(number, to=to)).replace("-", " ").replace(" and ", " ")


MONTHS = (
    *("", "January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""English whatever the machine's locale; `MONTHS[1]` is January."""

_MONTHS = tuple(name.lower() for name in MONTHS)
_ORDINALS = tuple(_words(n, "ordinal") for n in range(32))
_CARDINALS = tuple(_words(n) for n in range(60))


_DAY = r"(?P<{}>[0-9]{{1,2}})(?:st|nd|rd|th)?"
_NAMED = re.compile(
    rf"(?:{_DAY.format('before')} (?:of )?)?(?P<month>[a-z]+)(?: {_DAY.format('after')})?,? (?P<year>[0-9]{{4}})"
)
"""`june 2028`, `5 june 2028`, `June 5th, 2028`: the month by name tells which figure is the day."""


def end_of_month(year: int, month: int) -> date:
    """The last day of a month: an expiry printed as month and year holds through it (common practice)."""
    return date(year, month, monthrange(year, month)[1])


def read_date(text: str, names: bool = True) -> tuple[date, bool] | None:
    """A date as written, and whether only its month was told, whose last day it then is; None for what is no date.

    `2031-06-05`, `2031-06`, `06/2031`, and where `names` count `5 June 2031`, `June 2031`. Raises Miswritten where the
    day cannot be told from the month.
    """
    if re.fullmatch(r"[0-9]{1,2}[/.-][0-9]{1,2}[/.-][0-9]{2,4}", text):
        raise Miswritten(f"`{text}` {NO_DAY}; write such as `2031-06-05`, or the month by name")
    written = (_in_figures(text) if names else None) or text
    found = re.fullmatch(
        r"([0-9]{4})-([0-9]{2})(?:-([0-9]{2}))?", re.sub(r"^([0-9]{2})/([0-9]{4})$", r"\2-\1", written)
    )
    if found is None:
        return None
    year, month, day = int(found[1]), int(found[2]), found[3]
    try:
        return (date(year, month, int(day)), False) if day else (end_of_month(year, month), True)
    except ValueError:
        return None


def named_dates(text: str) -> list[str]:
    """Each date in a sentence that names its month and has its year in figures, as `read_date` takes it."""
    return [found[0] for found in _NAMED.finditer(text.lower()) if _in_figures(found[0]) is not None]


def _in_figures(typed: str) -> str | None:
    """`june 2028` -> `2028-06`; None for what names no month of one year."""
    named = _NAMED.fullmatch(typed.lower())
    if named is None or (named["before"] and named["after"]):
        return None
    day = named["before"] or named["after"]
    for number, name in enumerate(_MONTHS):
        if name and named["month"] in (name, name[:3]):
            return f"{named['year']}-{number:02d}" + (f"-{int(day):02d}" if day else "")
    return None


@lru_cache(maxsize=256)
def year_forms(year: int) -> tuple[str, ...]:
    """2026 -> `twenty twenty six`, `two thousand twenty six`, `two thousand and twenty six`."""
    full = num2words(year).replace("-", " ").replace(",", "")
    return tuple(dict.fromkeys((_words(year, "year"), full.replace(" and ", " "), full)))


def date_forms(day: date, with_year: bool) -> tuple[str, ...]:
    """`the fifth of january twenty twenty six`, `january fifth twenty twenty six`, ... or the same without year."""
    month, ordinal, cardinal = _MONTHS[day.month], _ORDINALS[day.day], _CARDINALS[day.day]
    stems = (
        f"the {ordinal} of {month}",
        f"{month} {ordinal}",
        f"{ordinal} of {month}",
        f"{month} {cardinal}",
        f"{cardinal} {month}",
        f"{ordinal} {month}",
        f"{month} the {ordinal}",
    )
    if not with_year:
        return stems
    return tuple(f"{stem} {year}" for year in year_forms(day.year) for stem in stems)


def say_date(day: date) -> str:
    """`the fifth of January twenty twenty six`."""
    return f"the {_ORDINALS[day.day]} of {say_month(day)}"


def say_month(day: date) -> str:
    """`January twenty twenty six`."""
    return f"{MONTHS[day.month]} {year_forms(day.year)[0]}"


def date_digit_forms(day: date, with_year: bool) -> tuple[str, ...]:
    """The month's name and digits: `january two eight`, `january two eight two zero two six`."""
    stems = [f"{_MONTHS[day.month]} {run}" for run in digit_runs(str(day.day))]
    if not with_year:
        return tuple(stems)
    return tuple(f"{stem} {year}" for stem in stems for year in digit_runs(str(day.year)))


def month_forms(day: date) -> tuple[str, ...]:
    """`march twenty twenty eight` and the year's other wordings."""
    return tuple(f"{_MONTHS[day.month]} {year}" for year in year_forms(day.year))


def month_digit_forms(day: date) -> tuple[str, ...]:
    """`march two zero two eight`."""
    return tuple(f"{_MONTHS[day.month]} {year}" for year in digit_runs(str(day.year)))


@lru_cache(maxsize=2048)
def time_forms(at: time) -> tuple[str, ...]:
    """`fourteen thirty`, `zero eight fifteen`, `oh eight fifteen`; whole hours `fourteen hundred hours`, ...

    Left out: a morning time without its zero ("eight fifteen"), which may mean the evening, and "oh oh" for the hour
    of midnight, which is heard as "two oh".
    """
    if at.hour == 0:
        hours: tuple[str, ...] = ("zero zero", "zero")
    elif at.hour < 10:
        hours = tuple(f"{zero} {_CARDINALS[at.hour]}" for zero in ("zero", "oh"))
    else:
        hours = (_CARDINALS[at.hour],)
    if at.minute == 0:
        bare = hours if at.hour == 0 or at.hour >= 10 else (*hours, _CARDINALS[at.hour])
        forms = [f"{hour} hundred hours" for hour in bare] + [f"{hour} hundred" for hour in bare]
        forms += {0: ["midnight"], 12: ["noon", "midday"]}.get(at.hour, [])
        forms += [f"{hour} zero zero" for hour in hours]
    elif at.minute < 10:
        forms = [f"{hour} {zero} {_CARDINALS[at.minute]}" for zero in ("zero", "oh") for hour in hours]
    else:
        forms = [f"{hour} {_CARDINALS[at.minute]}" for hour in hours]
    return tuple(forms)


def time_digit_forms(at: time) -> tuple[str, ...]:
    """`one four three zero`, `one four three oh`; the hour of midnight only as `zero zero`."""
    zeros = digit_runs(f"{at.hour:02d}{at.minute:02d}")
    return zeros[: 2 if at.hour else 1]
