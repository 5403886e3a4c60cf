"""Which steps a rehearsal has to say: those that are due, as far as settings and the case's own values tell."""

from collections.abc import Collection, Mapping, Sequence

from companion.meaning.assign import Said
from companion.procedure.due import is_due
from companion.procedure.model import Procedure
from companion.rehearsal.judging.spoken import value_in
from companion.speech.values import Value


def expected_steps(procedure: Procedure, only: Collection[str], values: Mapping[str, str]) -> tuple[str, ...]:
    """Ids of the main steps that may be due, in their order; `only` the steps rehearsed, empty for all."""
    given = _as_values(procedure, values)
    return tuple(
        step.id
        for step in procedure.steps
        if (not only or step.id in only) and is_due(procedure, given, step) is not False
    )


def surely_due(
    procedure: Procedure, expected: Sequence[str], kept: Sequence[Said], values: Mapping[str, str]
) -> Mapping[str, bool]:
    """Of the steps expected those that are due by what was said too; False where nothing told whether one was."""
    told = {}
    for each in kept:
        spec = procedure.step(each.step).stated
        if spec is not None:
            told[each.step] = value_in(spec, each.mention.heard.text)
    given = _as_values(procedure, {name: text for name, text in told.items() if text is not None} | dict(values))
    due = {name: is_due(procedure, given, procedure.step(name)) for name in expected}
    return {name: sure is True for name, sure in due.items() if sure is not False}


def _as_values(procedure: Procedure, texts: Mapping[str, str]) -> Mapping[str, Value]:
    specs = {step.id: step.stated for step in procedure.all_steps()}
    found = ((name, specs.get(name), text) for name, text in texts.items())
    return {name: Value(type=spec.type, text=text) for name, spec, text in found if spec is not None}
