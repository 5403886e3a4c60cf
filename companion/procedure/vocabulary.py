"""Every phrase that may be said in a procedure, so that words no engine knows are found before it starts."""

from collections.abc import Iterator
from datetime import date

from companion.procedure.model import Procedure
from companion.procedure.steps import (
    ActionStep,
    CalculationStep,
    CheckStep,
    IdentificationStep,
    ObservationStep,
    PacedStep,
    ReadingStep,
    SignatureStep,
    Step,
    WaitStep,
)
from companion.speech.controls import control_phrases
from companion.speech.value_phrases import phrases_for
from companion.speech.values import ValueSpec


def fixed_phrases(procedure: Procedure) -> tuple[str, ...]:
    """The phrases written in the procedure and the control phrases, each once, in the order met."""
    found = dict.fromkeys(word for words in control_phrases(procedure.language).values() for word in words)
    for step in procedure.all_steps():
        found |= dict.fromkeys(_of(step))
    for branch in procedure.branches:
        found |= dict.fromkeys(branch.heard)
    return tuple(found)


def all_phrases(procedure: Procedure, today: date) -> tuple[str, ...]:
    """The fixed phrases and those of every value that may be given."""
    found = dict.fromkeys(fixed_phrases(procedure))
    for step in procedure.all_steps():
        spec = _spec(step)
        if spec is not None:
            for digits_only in (False, True):
                found |= dict.fromkeys(phrases_for(spec, today, digits_only, procedure.language))
    return tuple(found)


def _of(step: Step) -> Iterator[str]:
    match step:
        case ActionStep() | PacedStep() | WaitStep():
            yield from step.replies
        case IdentificationStep():
            for item in step.items:
                yield from item.agrees
                yield from item.differs
        case ObservationStep():
            yield from step.normal
            for abnormal in step.abnormal:
                yield from abnormal.replies
            for settled in step.settled:
                yield from settled.replies
        case _:
            return


def _spec(step: Step) -> ValueSpec | None:
    match step:
        case ReadingStep() | CalculationStep():
            return step.value
        case CheckStep() | SignatureStep():
            return step.tag
        case _:
            return None
