"""Values from the keyboard: the same range as by voice, figures or words, one clear sentence when refused."""

import re
from datetime import date, timedelta
from decimal import Decimal

from companion.core.calendar_words import month_forms
from companion.core.numbers import NumberError, parse_number, plain
from companion.core.speakable import words_of
from companion.core.unit_names import unit_name
from companion.core.value_phrases import phrases_for, values_of
from companion.core.values import ChoiceValue, DateValue, NumberValue, TagValue, TimeValue, Value, ValueSpec
from companion.errors import DoseError, UsageError

_FIGURES = re.compile(r"^(?P<number>[-+]?[0-9.,]+)\s*(?P<unit>.*)$")
_PROPER = re.compile(r"^-?(?:[0-9]{1,3}(?:,[0-9]{3})+|0|[1-9][0-9]*)(?:\.[0-9]*[1-9])?$")


def parse_typed(spec: ValueSpec, text: str, today: date, language: str = "en-US") -> Value:
    """The value typed. Raises UsageError, one sentence saying what is accepted."""
    typed = " ".join(text.split())
    if not typed:
        raise UsageError(f"nothing was typed; accepted: {accepted(spec, today)}")
    match spec:
        case NumberValue():
            return _number(spec, typed, today)
        case DateValue():
            return _date(spec, typed, today, language)
        case TimeValue():
            written = typed if re.fullmatch(r"[0-9]{2}:[0-9]{2}", typed) else None
        case TagValue():
            written = typed if re.fullmatch(r"[0-9]+", typed) else None
        case ChoiceValue():
            written = next((choice for choice in spec.choices if choice.lower() == typed.lower()), None)
    return _listed(spec, typed, written, today, language)


def accepted(spec: ValueSpec, today: date) -> str:
    """What may be typed, in a few words with an example."""
    match spec:
        case NumberValue():
            least, most, by = (plain(n) for n in (spec.least, spec.most, spec.by))
            return f"{least} to {most} {spec.unit} in steps of {by}, with the unit, such as `{least} {spec.unit}`"
        case DateValue():
            first, last = (today + timedelta(days=n) for n in (spec.earliest, spec.latest))
            if spec.precision == "month":
                example = f"`{last:%Y-%m}` or `{month_forms(last)[0]}`"
                return f"a month ending from {first} to {last}, such as {example}"
            return f"a date from {first} to {last}, written as `{last}` or said in words"
        case TimeValue():
            return f"a time on the 24-hour clock in steps of {spec.by} min, such as `08:00`"
        case ChoiceValue():
            return ", ".join(spec.choices)
        case TagValue():
            return f"{spec.digits} digits, such as `{'4172'[: spec.digits]}`"


def _refuse(spec: ValueSpec, today: date, culprit: str) -> UsageError:
    return UsageError(f"{culprit}; accepted: {accepted(spec, today)}")


def _listed(spec: ValueSpec, typed: str, written: str | None, today: date, language: str) -> Value:
    """The value whose text is `written`, or which `typed` says in words."""
    for value in values_of(spec, today):
        if value.text == written:
            return value
    if written is None:
        said = words_of(typed, language) if isinstance(spec, ChoiceValue) else _words(typed)
        for digits_only in (False, True):
            value_said = phrases_for(spec, today, digits_only, language).get(said)
            if value_said:
                return value_said
    raise _refuse(spec, today, f"`{typed[:60]}` is not a {spec.type} that fits here")


def _words(typed: str) -> str:
    return " ".join(re.sub(r"[-,]", " ", typed.lower()).split())


def _date(spec: DateValue, typed: str, today: date, language: str) -> Value:
    if re.fullmatch(r"[0-9]{1,2}[/.-][0-9]{1,2}[/.-][0-9]{2,4}", typed):
        raise _refuse(spec, today, f"`{typed}` could be read with the day or the month first")
    if spec.precision == "day" or not re.fullmatch(r"[0-9]{4}-[0-9]{2}", typed):
        written = typed if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", typed) else None
        return _listed(spec, typed, written, today, language)
    for value in values_of(spec, today):
        if value.text.startswith(typed):
            return value
    raise _refuse(spec, today, f"`{typed}` is not a month in the range")


def _number(spec: NumberValue, typed: str, today: date) -> Value:
    name = unit_name(spec.unit)
    figures = _FIGURES.match(typed)
    if figures:
        if not figures["unit"]:
            raise _refuse(spec, today, f"`{typed}` lacks its unit, {spec.unit}")
        if figures["unit"].lower() not in {spec.unit.lower(), name.one, name.many}:
            raise _refuse(spec, today, f"`{figures['unit'][:60]}` is not the unit here, {spec.unit}")
        if not _PROPER.match(figures["number"]):
            raise _refuse(
                spec, today, f"`{figures['number'][:60]}` is not written safely: a zero before the point, none after it"
            )
        number = Decimal(figures["number"].replace(",", ""))
    else:
        number = _said_number(spec, typed, today)
    if not spec.least <= number <= spec.most:
        raise _refuse(spec, today, f"{plain(number)} {spec.unit} is outside the plausible range")
    if (number - spec.least) % spec.by:
        raise _refuse(spec, today, f"{plain(number)} {spec.unit} is not on a step")
    return Value(type="number", text=plain(number), unit=spec.unit)


def _said_number(spec: NumberValue, typed: str, today: date) -> Decimal:
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
        raise _refuse(spec, today, f"`{typed[:60]}` is not a number with its unit") from None
    raise _refuse(spec, today, f"`{typed[:60]}` lacks its unit, {spec.unit}")
