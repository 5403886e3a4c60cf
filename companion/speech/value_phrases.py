"""Every phrase by which a value may be said, made from its declared type and plausible range."""

from calendar import monthrange
from collections.abc import Iterable, Iterator
from datetime import date, time, timedelta
from decimal import Decimal
from functools import lru_cache

from companion.errors import DoseError, UsageError
from companion.speech.calendar_words import (
    date_digit_forms,
    date_forms,
    month_digit_forms,
    month_forms,
    say_date,
    say_month,
    time_digit_forms,
    time_forms,
)
from companion.speech.language import digits_of
from companion.speech.numbers import digit_forms, digit_runs, natural_forms, plain, say_digits, say_number
from companion.speech.speakable import is_english, speakable, words_of
from companion.speech.units import UnitName, unit_name
from companion.speech.values import ChoiceValue, DateValue, NumberValue, TagValue, TimeValue, Value, ValueSpec

MOST_PHRASES = 3000
"""Rarer wordings are left out of a set, rank by rank, so that it stays under this."""

_DAYS_PRINTED = 900
"""Days told apart where a month may be said instead; three wordings of each stay under `MOST_PHRASES`."""

Ranked = tuple[Value, tuple[str, ...]]
"""A value and its wordings, the program's own first, the rarest last."""


def phrases_for(spec: ValueSpec, today: date, digits_only: bool = False, language: str = "en-US") -> dict[str, Value]:
    """Each phrase (whole, lower case, no figures or punctuation) and the value it means.

    `digits_only` gives the digit-by-digit forms used when asking again. Raises DoseError for a unit that cannot be
    said and for choices that sound alike, UsageError for a choice that cannot be said and for a language other than
    English (choices are said as written in any language).
    """
    return dict(_phrases(spec, today, digits_only, language))


def say_value(value: Value, spec: ValueSpec | None = None, language: str = "en-US") -> str:
    """As spoken in prompts and read-back: `fourteen units`, `the fifth of January twenty twenty six`.

    With `spec` a date of month precision is said as month and year. In another language than English the value is
    given as written, for the synthesiser to say.
    """
    if not is_english(language):
        return value.written()
    match value.type:
        case "number":
            number = value.decimal()
            name = unit_name(value.unit) if value.unit else UnitName("", "")
            return f"{say_number(number)} {name.one if number == 1 else name.many}".strip()
        case "date":
            day = date.fromisoformat(value.text)
            by_month = isinstance(spec, DateValue) and spec.precision == "month"
            return say_month(day) if by_month else say_date(day)
        case "time":
            return time_forms(time.fromisoformat(value.text))[0]
        case "tag":
            return say_digits(value.text)
        case _:
            return speakable(value.text)


def values_of(spec: ValueSpec, today: date) -> Iterator[Value]:
    """Every value in the plausible range, in order."""
    match spec:
        case NumberValue():
            number = spec.least
            for figure in spec.among:
                yield Value(type="number", text=plain(figure), unit=spec.unit)
            while not spec.among and number <= spec.most:
                yield Value(type="number", text=plain(number), unit=spec.unit)
                number += spec.by
        case DateValue():
            days = (today + timedelta(days=n) for n in range(spec.earliest, spec.latest + 1))
            for day in days:
                ends_month = day.day == monthrange(day.year, day.month)[1]
                by_day = spec.precision == "day" or (spec.precision != "month" and _by_day(spec, day, today))
                if by_day or ends_month:
                    yield Value(type="date", text=day.isoformat())
        case TimeValue():
            for minute in range(0, 24 * 60, spec.by):
                yield Value(type="time", text=f"{minute // 60:02d}:{minute % 60:02d}")
        case ChoiceValue():
            for choice in spec.choices:
                yield Value(type="choice", text=choice)
        case TagValue():
            for n in range(10**spec.digits):
                yield Value(type="tag", text=f"{n:0{spec.digits}d}")


@lru_cache(maxsize=256)
def _phrases(spec: ValueSpec, today: date, digits_only: bool, language: str) -> dict[str, Value]:
    if not is_english(language) and not isinstance(spec, ChoiceValue | TagValue):
        raise UsageError(
            f"a spoken {spec.type} is known in English only, not in `{language}`; accepted: choices and tags"
        )
    ranked = _ranked(spec, today, digits_only, language)
    if language.lower() == "en-us" and not isinstance(spec, ChoiceValue):
        # Nobody there says "nought", and their models do not know the word.
        ranked = ((value, tuple(f for f in forms if "nought" not in f.split())) for value, forms in ranked)
    return _gather(ranked)


def _ranked(spec: ValueSpec, today: date, digits_only: bool, language: str) -> Iterator[Ranked]:
    values = tuple(values_of(spec, today))
    match spec:
        case NumberValue():
            name = unit_name(spec.unit)
            for value in values:
                number = value.decimal()
                forms = digit_forms(number) if digits_only else natural_forms(number)
                yield value, tuple(_with_unit(number, form, name) for form in forms)
        case DateValue(precision="month"):
            for value in values:
                day = date.fromisoformat(value.text)
                yield value, month_digit_forms(day) if digits_only else month_forms(day)
        case DateValue(precision="month or day"):
            for value in values:
                yield value, _printed(date.fromisoformat(value.text), digits_only)
        case DateValue():
            yearless = _one_of_each_day(spec, today)
            for value in values:
                day = date.fromisoformat(value.text)
                say = date_digit_forms if digits_only else date_forms
                yield value, say(day, True)[:1] + (say(day, False) if yearless else ()) + say(day, True)[1:]
        case TimeValue():
            for value in values:
                at = time.fromisoformat(value.text)
                yield value, time_digit_forms(at) if digits_only else time_forms(at)
        case ChoiceValue():
            for value in values:
                phrase = words_of(value.text, language)
                if not phrase:
                    raise UsageError(f"the choice `{value.text}` cannot be said; accepted: a name with letters in it")
                yield value, (phrase,)
        case TagValue():
            for value in values:
                yield value, _tag(value.text, language)


def _tag(text: str, language: str) -> tuple[str, ...]:
    """A tag digit by digit, with both words for zero; English where the language has no digits of its own here."""
    digits = digits_of(language)
    if digits is None:
        return digit_runs(text)[:2]
    return tuple(dict.fromkeys(" ".join(digits[int(one)][at % len(digits[int(one)])] for one in text) for at in (0, 1)))


def _by_day(spec: DateValue, day: date, today: date) -> bool:
    return (day - today).days - spec.earliest < _DAYS_PRINTED


def _printed(day: date, digits_only: bool) -> tuple[str, ...]:
    """A date as packages print it: by day, and by month where the day ends one."""
    last = day.day == monthrange(day.year, day.month)[1]
    months = (month_digit_forms(day) if digits_only else month_forms(day)) if last else ()
    if digits_only:
        return date_digit_forms(day, True)[:1] + months[:1]
    own, second, _, _, bare = date_forms(day, True)[:5]
    return (own, *months[:1], second, bare) if last else (own, second, bare)


def _with_unit(number: Decimal, form: str, name: UnitName) -> str:
    if form == "half":
        return name.half
    return f"{form} {name.one if number == 1 or form in ('a half', 'one half') else name.many}"


def _one_of_each_day(spec: DateValue, today: date) -> bool:
    """Whether no day of the year comes twice in the range, so that the year may be left unsaid."""
    days = [today + timedelta(days=n) for n in range(spec.earliest, spec.latest + 1)]
    return len({(day.month, day.day) for day in days}) == len(days)


def _gather(ranked: Iterable[Ranked]) -> dict[str, Value]:
    entries = list(ranked)
    total = rank = 0
    while True:
        count = sum(1 for _, forms in entries if len(forms) > rank)
        if not count or (rank and total + count > MOST_PHRASES):
            break
        total, rank = total + count, rank + 1
    phrases: dict[str, Value] = {}
    for value, forms in entries:
        for form in forms[:rank]:
            other = phrases.setdefault(form, value)
            if other != value:
                raise DoseError(f"`{form}` could mean {other.written()} or {value.written()}; make them sound apart")
    return phrases
