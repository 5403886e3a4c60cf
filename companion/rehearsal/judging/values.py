"""Values said in a rehearsal, against what is due: the case's own, the plausible range, the program's working."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from companion.meaning.assign import Said
from companion.procedure.kinds import KINDS
from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.rehearsal.judging.other_units import fits, in_file_unit, others, said_with
from companion.rehearsal.judging.spoken import value_in
from companion.session.findings import Finding, Kind
from companion.speech.language import tell
from companion.speech.values import NumberValue, Value, ValueSpec


def wrong_values(procedure: Procedure, kept: Sequence[Said], right: Mapping[str, str]) -> Iterator[Finding]:
    """A finding for each value said that is not the one due. A value that was not heard is no wrong one, and one that
    is right in another unit is unclear.
    """
    said: dict[str, str] = {}
    for each in kept:
        step = procedure.step(each.step)
        spec = step.stated
        if spec is None:
            continue
        value = value_in(spec, each.mention.heard.text)
        if value is None:
            continue
        units = others(procedure, spec) if isinstance(spec, NumberValue) else ()
        told = said_with(units, each.mention.heard.text)
        if told is not None and isinstance(spec, NumberValue):
            value = in_file_unit(spec, value, told.unit) or value
        said[step.id] = value
        due = right.get(step.id)
        if due is None:
            due = _worked_out(procedure, step, {**said, **right})
        reason = _misfit(procedure, step, spec, value, due)
        kind: Kind = "wrong value"
        if reason and told is None and isinstance(spec, NumberValue):
            other = fits(spec, value, units, due)
            if other is not None:
                kind = "unclear"
                reason = tell(
                    procedure.language,
                    "fits another unit",
                    wrong=reason.removesuffix("."),
                    value=value,
                    unit=other.unit,
                    option=f"--set {other.setting}={other.unit}",
                )
        if reason:
            yield Finding(
                kind=kind,
                step=step.id,
                title=step.title,
                critical=step.critical and kind == "wrong value",
                reason=reason,
                effect=step.reason or step.caution or "",
                heard=(each.mention.heard,),
                at_ms=each.mention.at_ms,
            )


def _misfit(procedure: Procedure, step: Step, spec: ValueSpec, value: str, due: str | None) -> str:
    def told(key: str, **fields: object) -> str:
        return tell(procedure.language, key, title=step.title, value=value, **fields)

    if not isinstance(spec, NumberValue):
        return told("other choice", due=due) if due not in (None, value) else ""
    if due is not None:
        return "" if Decimal(value) == Decimal(due) else told("other figure", due=due, unit=spec.unit)
    if not spec.takes(Decimal(value)):
        if spec.among:
            return told("none of these", among=", ".join(f"{each:f}" for each in spec.among))
        return told("not plausible", least=f"{spec.least:f}", most=f"{spec.most:f}", unit=spec.unit)
    return ""


def _worked_out(procedure: Procedure, step: Step, known: Mapping[str, str]) -> str | None:
    """The program's own result from what was said, or None where something is not known."""
    read = {each.id: each.stated for each in procedure.all_steps() if each.id in known and not each.worked_out}
    given = {
        name: Value(type="number", text=known[name], unit=spec.unit)
        for name, spec in read.items()
        if isinstance(spec, NumberValue)
    }
    own: Value | None = KINDS[step.kind].own(procedure, step, given)
    return None if own is None else own.text
