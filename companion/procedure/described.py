"""What kind of value may be given, in a few words: the range rather than one of its values."""

from collections.abc import Sequence
from datetime import date, timedelta

from companion.procedure.kinds.reading import ReadingStep, alerts
from companion.procedure.model import Procedure
from companion.procedure.step_parts import Alert
from companion.procedure.steps import Step
from companion.speech.calendar_words import say_date, say_month
from companion.speech.language import tell
from companion.speech.numbers import written
from companion.speech.speakable import is_english, words_of
from companion.speech.value_phrases import values_of
from companion.speech.values import ChoiceValue, DateValue, NumberValue, TagValue, TimeValue, Value, ValueSpec

_FAR = timedelta(days=400)
"""A limit further off than this is not worth naming."""


def digits(spec: TagValue, language: str) -> str:
    """How a tag is said: `two digits, one by one`."""
    return tell(language, "two digits" if spec.digits == 2 else "three digits")


def described(spec: ValueSpec, today: date, alerted: Sequence[Alert] = (), language: str = "en-US") -> str:
    """`a figure from 1 to 60 units`. Of dates only those are named that lead on; choices are named one by one."""
    match spec:
        case NumberValue():
            return tell(
                language, "a figure", least=written(spec.least), most=written(spec.most), unit=spec.unit
            ).rstrip()
        case DateValue():
            return _dates(spec, today, alerted, language)
        case TimeValue():
            return tell(language, "a time")
        case TagValue():
            return tell(language, "a tag", digits=digits(spec, language))
        case ChoiceValue():
            return tell(language, "one of", choices=", ".join(spec.choices))


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


def _dates(spec: DateValue, today: date, alerted: Sequence[Alert], language: str) -> str:
    by_month = spec.precision == "month"
    kind = tell(language, "a month" if by_month else "a date")
    english = say_month if by_month else say_date
    say = english if is_english(language) else date.isoformat
    limits = leading_on(spec, today, alerted)
    if limits is None:
        return kind
    first, last = limits
    if last - today > _FAR:
        return tell(language, "dates from", kind=kind, first=say(first))
    if today - first > _FAR:
        return tell(language, "dates to", kind=kind, last=say(last))
    return tell(language, "dates between", kind=kind, first=say(first), last=say(last))


def _alerts(alerted: Sequence[Alert], value: Value, today: date) -> bool:
    return any(alerts(alert, value, today) for alert in alerted)
