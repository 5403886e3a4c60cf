"""Sentences that may have been said where a step with a value, or with a phrase of its own, is due, or for a hint.

Free writing mishears figures first ("eating units"). The same sentence with each plausible figure in that place, and
the bare phrases of the step, are few enough for the sound to be asked which of them it was.
"""

import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from companion.procedure.steps import Step
from companion.rehearsal.judging.spoken import value_in
from companion.speech.language import asides_of
from companion.speech.numbers import natural_forms
from companion.speech.speakable import words_of
from companion.speech.units import unit_name
from companion.speech.value_phrases import MOST_PHRASES, phrases_for, values_of
from companion.speech.values import ChoiceValue, NumberValue

_LONGEST = 9
"""Words; a longer sentence is talk, and is left as written."""
_BEFORE_UNIT = 2
"""Words before the unit that a figure may have been misheard as, at most."""


_SHORT = 3
"""Words; so little may be a hint asked for and misheard ("And?")."""


def value_of(step: Step) -> NumberValue | ChoiceValue | None:
    """What kind of value the step expects; None where it expects none that free talk is searched for."""
    spec = step.stated
    return spec if isinstance(spec, NumberValue | ChoiceValue) else None


def sentences(step: Step, written: str, today: date, language: str) -> tuple[str, ...]:
    """Whole sentences, lower case, without figures; empty where nothing closed is expected."""
    spec = value_of(step)
    if len(written.split()) > _LONGEST or (spec is not None and _plausible(spec, written)):
        return ()
    if spec is None:
        return step.confirming if step.critical else ()
    framed = _framed(spec, words_of(written, language), today) if isinstance(spec, NumberValue) else ()
    found = [*framed, *phrases_for(spec, today, language=language)]
    return tuple(dict.fromkeys(found))[:MOST_PHRASES]


def hints(written: str, language: str = "en-US") -> tuple[str, ...]:
    """The words that ask for a hint, where so little was written that it may have been one of them."""
    return tuple(sorted(asides_of(language).hints)) if len(written.split()) <= _SHORT else ()


def _plausible(spec: NumberValue | ChoiceValue, written: str) -> bool:
    """Whether the writing tells a value already: another one would be believed only against what was freely written."""
    value = value_in(spec, written)
    return value is not None and (isinstance(spec, ChoiceValue) or spec.takes(Decimal(value)))


def _framed(spec: NumberValue, written: str, today: date) -> Iterator[str]:
    """The sentence as written, with each plausible figure before the unit instead of what stands there."""
    name = unit_name(spec.unit) if spec.unit else None
    if name is None:
        return
    unit = re.search(rf"\b(?:{re.escape(name.many)}|{re.escape(name.one)})\b", written)
    if unit is None:
        return
    before, after = written[: unit.start()].split(), written[unit.start() :]
    for value in values_of(spec, today):
        form = natural_forms(value.decimal())[0]
        for taken in range(1, min(_BEFORE_UNIT, len(before)) + 1):
            yield " ".join([*before[: len(before) - taken], form, after])
