"""What kind of value may be given, in a few words: the range rather than one of its values."""

from collections.abc import Sequence
from datetime import date, timedelta

from companion.procedure.kinds.reading import alerts
from companion.procedure.model import Procedure, ReadingStep, Step
from companion.procedure.step_parts import Alert
from companion.speech.calendar_words import say_date, say_month
from companion.speech.numbers import plain
from companion.speech.speakable import words_of
from companion.speech.value_phrases import values_of
from companion.speech.values import ChoiceValue, DateValue, NumberValue, TagValue, TimeValue, Value, ValueSpec

_DIGITS = {2: "two", 3: "three"}
_FAR = timedelta(days=400)
"""A limit further off than this is not worth naming."""


def digits(spec: TagValue) -> str:
    """How a tag is said: `two digits, one by one`."""
    return f"{_DIGITS[spec.digits]} digits, one by one"


def described(spec: ValueSpec, today: date, alerted: Sequence[Alert] = ()) -> str:
    """`a figure from 1 to 60 units`. Of dates only those are named that lead on; choices are named one by one."""
    match spec:
        case NumberValue():
            return f"a figure from {plain(spec.least)} to {plain(spec.most)} {spec.unit}".rstrip()
        case DateValue():
            return _dates(spec, today, alerted)
        case TimeValue():
            return "a time on the 24-hour clock"
        case TagValue():
            return f"a staff tag, {digits(spec)}"
        case ChoiceValue():
            return "one of: " + ", ".join(spec.choices)


def alerts_of(step: Step | None) -> tuple[Alert, ...]:
    """The alerts of a reading; none for other steps."""
    return step.alerts if isinstance(step, ReadingStep) else ()


def choices(spec: ChoiceValue, alerted: Sequence[Alert], procedure: Procedure) -> dict[str, str]:
    """Each choice as it is said, with the branch it takes, or nothing."""
    taken = {name: alert.branch for alert in alerted for name in alert.is_}
    return {words_of(choice, procedure.language): taken.get(choice, "") for choice in spec.choices}


def leading_on(spec: DateValue, today: date, alerted: Sequence[Alert] = ()) -> tuple[date, date] | None:
    """The first and the last day that may be given and set off no alert."""
    values = [value for value in values_of(spec, today) if not _alerts(alerted, value, today)]
    return (date.fromisoformat(values[0].text), date.fromisoformat(values[-1].text)) if values else None


def _dates(spec: DateValue, today: date, alerted: Sequence[Alert]) -> str:
    kind, say = ("a month and year", say_month) if spec.precision == "month" else ("a date", say_date)
    limits = leading_on(spec, today, alerted)
    if limits is None:
        return kind
    first, last = limits
    if last - today > _FAR:
        return f"{kind} from {say(first)} on"
    if today - first > _FAR:
        return f"{kind} up to {say(last)}"
    return f"{kind} from {say(first)} to {say(last)}"


def _alerts(alerted: Sequence[Alert], value: Value, today: date) -> bool:
    return any(alerts(alert, value, today) for alert in alerted)
