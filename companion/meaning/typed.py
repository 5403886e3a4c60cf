"""Values from the keyboard: the same range as by voice, in figures or words, one clear sentence when refused."""

import re
from collections.abc import Sequence
from datetime import date

from companion.errors import Miswritten, UsageError
from companion.procedure.described import leading_on
from companion.procedure.step_parts import Alert
from companion.speech.calendar_words import month_forms, read_date
from companion.speech.numbers import decimal_of, plain, written
from companion.speech.speakable import is_english, words_of
from companion.speech.units import parse_unit
from companion.speech.value_phrases import phrases_for, values_of
from companion.speech.values import ChoiceValue, DateValue, NumberValue, TagValue, TimeValue, Value, ValueSpec
from companion.speech.writing import read

_SHOWN = 60
_LABORATORY = frozenset({"mg/dL", "mmol/L"})
"""What a meter shows in these may end in a zero (Joint Commission: results of a laboratory are excepted)."""


def parse_typed(
    spec: ValueSpec, text: str, today: date, language: str = "en-US", alerted: Sequence[Alert] = ()
) -> Value:
    """The value typed, in figures, or in words as it would be said. `alerted` are the alerts it may set off.

    Raises UsageError, one sentence saying what is accepted, and DoseError where the spec's unit cannot be said.
    """
    try:
        return _parsed(spec, " ".join(text.split()), today, language)
    except Miswritten as refused:
        raise UsageError(refused.about(text, accepted=accepted(spec, today, alerted))) from None


def _parsed(spec: ValueSpec, typed: str, today: date, language: str) -> Value:
    if not typed:
        raise Miswritten("nothing was typed")
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
                return f"{', '.join(map(written, spec.among))} {spec.unit}, with the unit"
            least, most, by = (written(n) for n in (spec.least, spec.most, spec.by))
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
    raise Miswritten(f"`{typed[:_SHOWN]}` is not {kind}")


def _words(typed: str) -> str:
    return " ".join(re.sub(r"[-,]", " ", typed.lower()).split())


def _date(spec: DateValue, typed: str, today: date, language: str) -> Value:
    told = read_date(typed, names=is_english(language))
    fits = told is not None and (spec.precision == "month or day" or told[1] == (spec.precision == "month"))
    if told is not None and fits and told[1]:
        day = next((value for value in values_of(spec, today) if value.text == told[0].isoformat()), None)
        if day is None:
            raise Miswritten(f"`{typed}` is not a month in the range")
        return day
    return _listed(spec, typed, told[0].isoformat() if told is not None and fits else None, today, language)


def _number(spec: NumberValue, typed: str, language: str) -> Value:
    given = read(typed, laboratory=spec.unit in _LABORATORY, words=is_english(language))
    if str(given.unit) != spec.unit and given.unit != parse_unit(spec.unit):
        raise Miswritten(f"`{given.unit}` is not the unit asked for, {spec.unit}")
    number = decimal_of(given.value)
    if not spec.takes(number):
        raise Miswritten(f"{plain(number)} {spec.unit} is outside the plausible range")
    if not spec.among and (number - spec.least) % spec.by:
        raise Miswritten(f"{plain(number)} {spec.unit} is not on a step")
    return Value(type="number", text=plain(number), unit=spec.unit)
