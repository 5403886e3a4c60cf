"""The steps that `medicine` names are there and say what it takes from them."""

from collections.abc import Iterator

from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Fault, in_words
from companion.procedure.steps import Step
from companion.speech.values import ChoiceValue, NumberValue


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Names that are no main step, a dose that is no number, a kind or site that is no choice."""
    medicine = procedure.medicine
    if medicine is None:
        return
    steps = {step.id: step for step in procedure.steps}
    numbers = [step.id for step in procedure.steps if _reads(step, NumberValue)]
    choices = [step.id for step in procedure.steps if _reads(step, ChoiceValue)]
    for key, accepted in (("dose", numbers), ("kind", choices), ("site", choices), ("given", list(steps))):
        name = getattr(medicine, key)
        if name is not None and name not in accepted:
            what = {"dose": "reading of a number", "given": "main step"}.get(key, "reading of a choice")
            yield Fault(("medicine", key), f"the step `{name}` is no {what}; accepted: {in_words(accepted)}")


def _reads(step: Step, kind: type) -> bool:
    return not step.worked_out and isinstance(step.stated, kind)
