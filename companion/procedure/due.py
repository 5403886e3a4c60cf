"""Which steps are due: a step with a `when` only while its setting or earlier answer is as it says."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from companion.procedure.step_parts import Unless, When
from companion.procedure.steps import Step
from companion.speech.durations import parse_seconds
from companion.speech.values import Value, plain_decimal

if TYPE_CHECKING:
    from companion.procedure.model import Procedure  # which is made of the kinds


def is_due(procedure: "Procedure", values: Mapping[str, Value], step: Step) -> bool | None:
    """Whether a step is due, given the values so far by step id; None where that is not known yet.

    A step that hangs on one that is not due is not due either. Raises KeyError for a name that is none.
    """
    if step.when is None:
        return True
    setting = next((each for each in procedure.settings if each.id == step.when.of), None)
    if setting is not None:
        return holds(step.when, setting.value)
    if is_due(procedure, values, procedure.step(step.when.of)) is False:
        return False
    value = values.get(step.when.of)
    return None if value is None else holds(step.when, value.text)


def holds(condition: When | Unless, text: str) -> bool:
    """Whether a value, as text, is one of those a condition names; a duration counts in seconds."""
    if condition.below is None and condition.above is None:
        return text in condition.is_
    amount = amount_of(text)
    if amount is None:
        return False
    too_low = condition.below is not None and amount < condition.below
    return too_low or (condition.above is not None and amount > condition.above)


def amount_of(text: str) -> Decimal | None:
    """The number a text begins with; a duration counts in seconds."""
    try:
        seconds = parse_seconds(text)
        return Decimal(seconds) if isinstance(seconds, int) else None
    except ValueError:
        pass
    try:
        return plain_decimal(text.split(" ", maxsplit=1)[0])
    except ValueError:
        return None
