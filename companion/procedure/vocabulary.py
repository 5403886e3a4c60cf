"""Every phrase that may be said in a procedure, so that words no engine knows are found before it starts."""

from datetime import date

from companion.procedure.kinds import KINDS
from companion.procedure.model import Procedure
from companion.speech.language import control_phrases
from companion.speech.value_phrases import phrases_for


def fixed_phrases(procedure: Procedure) -> tuple[str, ...]:
    """The phrases written in the procedure and the control phrases, each once, in the order met."""
    found = dict.fromkeys(word for words in control_phrases(procedure.language).values() for word in words)
    for step in procedure.all_steps():
        for _, replies, _ in KINDS[step.kind].replies(step):
            found |= dict.fromkeys(replies)
    for branch in procedure.branches:
        found |= dict.fromkeys(branch.heard)
    return tuple(found)


def all_phrases(procedure: Procedure, today: date) -> tuple[str, ...]:
    """The fixed phrases and those of every value that may be given."""
    found = dict.fromkeys(fixed_phrases(procedure))
    for step in procedure.all_steps():
        for _, spec in KINDS[step.kind].values(step, procedure):
            for digits_only in (False, True):
                found |= dict.fromkeys(phrases_for(spec, today, digits_only, procedure.language))
    return tuple(found)
