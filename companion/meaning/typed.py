"""Values from the keyboard: the same range as by voice, in figures or words, one clear sentence when refused."""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from companion.errors import DoseError, UsageError
from companion.procedure.described import leading_on
from companion.procedure.step_parts import Alert
from companion.speech.calendar_words import MONTHS, month_forms
from companion.speech.numbers import NumberError, parse_number, plain
from companion.speech.speakable import is_english, words_of
from companion.speech.unit_names import unit_name
from companion.speech.value_phrases import phrases_for, values_of
from companion.speech.values import ChoiceValue, DateValue, NumberValue, TagValue, TimeValue, Value, ValueSpec

_FIGURES = re.compile(r"^(?P<number>[-+]?[0-9.,]+) ?(?P<unit>.*)$")
_PROPER = re.compile(r"^-?(?:[1-9][0-9]{0,2}(?:,[0-9]{3})+|0|[1-9][0-9]*)(?:\.[0-9]*[1-9])?$")
_DAY = r"(?P<{}>[0-9]{{1,2}})(?:st|nd|rd|th)?"
_NAMED = re.compile(
    rf"(?:{_DAY.format('before')} (?:of )?)?(?P<month>[a-z]+)(?: {_DAY.format('after')})?,? (?P<year>[0-9]{{4}})"
)
"""`june 2028`, `5 june 2028`, `June 5th, 2028`: the month by name tells which figure is the day."""
_SHOWN = 60


class _Refused(UsageError):
    """What is wrong with what was typed; what is accepted is added to it."""


def parse_typed(
    spec: ValueSpec, text: str, today: date, language: str = "en-US", alerted: Sequence[Alert] = ()
) -> Value:
    """The value typed, in figures, or in words as it would be said. `alerted` are the alerts it may set off.

    Raises UsageError, one sentence saying what is accepted, and DoseError where the spec's unit cannot be said.
    """
    try:
        return _parsed(spec, " ".join(text.split()), today, language)
    except _Refused as refused:
        raise UsageError(f"{refused}; accepted: {accepted(spec, today, alerted)}") from None


def _parsed(spec: ValueSpec, typed: str, today: date, language: str) -> Value:
    if not typed:
        raise _Refused("nothing was typed")
    match spec:
        case NumberValue():
            return _number(spec, typed, language)
        case DateValue():
            return _date(spec, typed, today, language)
        case TimeValue():
            clock = re.fullmatch(r"([0-9]{2}):?([0-9]{2})", typed)
            written = f"{clock[1]}:{clock[2]}" if clock else None
        case TagValue():
            written = typed if re.fullmatch(r"[0-9]+", typed) else None
        case ChoiceValue():
            written = next((choice for choice in spec.choices if choice.lower() == typed.lower()), None)
    return _listed(spec, typed, written, today, language)


def accepted(spec: ValueSpec, today: date, alerted: Sequence[Alert] = ()) -> str:
    """What may be typed, in a few words with an example. Of dates only those are named that lead on."""
    match spec:
        case NumberValue():
            if spec.among:
                return f"{', '.join(map(plain, spec.among))} {spec.unit}, with the unit"
            least, most, by = (plain(n) for n in (spec.least, spec.most, spec.by))
            return f"{least} to {most} {spec.unit} in steps of {by}, with the unit, such as `{least} {spec.unit}`"
        case DateValue():
            limits = leading_on(spec, today, alerted)
            if limits is None:
                return "none, because no month ends within the range"
            first, last = limits
            if spec.precision == "month":
                return f"a month from {first:%Y-%m} to {last:%Y-%m}, such as `{last:%Y-%m}` or `{month_forms(last)[0]}`"
            also = ", or a month alone" if spec.precision == "month or day" else ""
            return f"a date from {first} to {last}, such as `{last}`, or the date in words{also}"
        case TimeValue():
            hour, minute = divmod(8 * 60 // spec.by * spec.by, 60)
            return f"a time on the 24-hour clock in steps of {spec.by} min, such as `{hour:02d}:{minute:02d}`"
        case ChoiceValue():
            return ", ".join(spec.choices)
        case TagValue():
            return f"{spec.digits} digits, such as `{'4172'[: spec.digits]}`"


def _listed(spec: ValueSpec, typed: str, written: str | None, today: date, language: str) -> Value:
    """The value whose text is `written`, or, without that, the one `typed` says in words."""
    if written is not None:
        for value in values_of(spec, today):
            if value.text == written:
                return value
    elif isinstance(spec, ChoiceValue) or is_english(language):
        said = words_of(typed, language) if isinstance(spec, ChoiceValue) else _words(typed)
        for digits_only in (False, True):
            value_said = phrases_for(spec, today, digits_only, language).get(said)
            if value_said:
                return value_said
    kind = "one of the choices" if isinstance(spec, ChoiceValue) else f"a {spec.type} that fits here"
    raise _Refused(f"`{typed[:_SHOWN]}` is not {kind}")


def _words(typed: str) -> str:
    return " ".join(re.sub(r"[-,]", " ", typed.lower()).split())


def _date(spec: DateValue, given: str, today: date, language: str) -> Value:
    typed = _in_figures(given) if is_english(language) else given
    month = re.fullmatch(r"([0-9]{4})-([0-9]{2})|([0-9]{2})/([0-9]{4})", typed)
    if month and spec.precision != "day":
        wanted = f"{month[1] or month[4]}-{month[2] or month[3]}-"
        for value in reversed(tuple(values_of(spec, today))):  # the last day of a month stands for it
            if value.text.startswith(wanted) and (date.fromisoformat(value.text) + timedelta(days=1)).day == 1:
                return value
        raise _Refused(f"`{given}` is not a month in the range")
    if re.fullmatch(r"[0-9]{1,2}[/.-][0-9]{1,2}[/.-][0-9]{2,4}", typed):
        raise _Refused(f"`{typed}` does not tell the day from the month")
    written = typed if spec.precision != "month" and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", typed) else None
    return _listed(spec, given, written, today, language)


def _in_figures(typed: str) -> str:
    """`june 2028` -> `2028-06`; what names no month of one year comes back as it is."""
    named = _NAMED.fullmatch(typed.lower())
    months = [
        number for number, name in enumerate(MONTHS) if named and named["month"] in (name.lower(), name[:3].lower())
    ]
    if named is None or not months or (named["before"] and named["after"]):
        return typed
    day = named["before"] or named["after"]
    return f"{named['year']}-{months[0]:02d}" + (f"-{int(day):02d}" if day else "")


def _number(spec: NumberValue, typed: str, language: str) -> Value:
    figures = _FIGURES.match(typed)
    if figures:
        number = _figure(spec, figures["number"], figures["unit"], language)
    elif is_english(language):
        number = _said_number(spec, typed)
    else:
        raise _Refused(f"`{typed[:_SHOWN]}` is not a number with its unit")
    if not spec.takes(number):
        raise _Refused(f"{plain(number)} {spec.unit} is outside the plausible range")
    if not spec.among and (number - spec.least) % spec.by:
        raise _Refused(f"{plain(number)} {spec.unit} is not on a step")
    return Value(type="number", text=plain(number), unit=spec.unit)


def _figure(spec: NumberValue, number: str, unit: str, language: str) -> Decimal:
    if not unit:
        raise _Refused(f"`{number[:_SHOWN]}` lacks its unit, {spec.unit}")
    names = {spec.unit.lower()}
    if is_english(language):
        names |= {unit_name(spec.unit).one, unit_name(spec.unit).many}
    if unit.lower() not in names:
        raise _Refused(f"`{unit[:_SHOWN]}` is not the unit asked for, {spec.unit}")
    if not _PROPER.match(number):
        raise _Refused(f"`{number[:_SHOWN]}` could be misread and is not taken (write `0.5` for .5 and `5` for 5.0)")
    try:
        figure = Decimal(number.replace(",", ""))
        plain(figure)
    except NumberError as refused:
        raise UsageError(str(refused)) from None
    return figure


def _said_number(spec: NumberValue, typed: str) -> Decimal:
    said, name = _words(typed), unit_name(spec.unit)
    if said == name.half:
        return Decimal("0.5")
    for unit in (name.many, name.one):
        if said.endswith(f" {unit}"):
            try:
                return parse_number(said.removesuffix(f" {unit}"))
            except NumberError as refused:
                raise UsageError(str(refused)) from None
    try:
        parse_number(said)
    except DoseError:
        raise _Refused(f"`{typed[:_SHOWN]}` is not a number with its unit") from None
    raise _Refused(f"`{typed[:_SHOWN]}` lacks its unit, {spec.unit}")
