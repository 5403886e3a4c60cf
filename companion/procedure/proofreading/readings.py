"""Readings, alerts and calculations fit together: kinds, units, limits, counts."""

from collections.abc import Iterator

from companion.dose import FORMULAS, TermInfo, parse_quantity
from companion.errors import DoseError
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.kinds.worked_out import CalculationStep
from companion.procedure.model import Procedure
from companion.procedure.proofreading.conditions import asked_with, earlier
from companion.procedure.proofreading.placed import Fault, Site, in_words, sites
from companion.procedure.step_parts import Alert
from companion.speech.units import Unit, parse_unit
from companion.speech.values import ChoiceValue, DateValue, NumberValue, ValueSpec

Where = tuple[str | int, ...]
# Joint Commission NPSG.01.01.01: at least two identifiers, and the room number is never one.
_PLACES = frozenset({"room", "bed", "bay", "ward"})


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Everything about values that the shape of the file alone does not tell."""
    for site in sites(procedure):
        if isinstance(site.step, IdentificationStep):
            yield from _identification(site, site.step)
        elif isinstance(site.step, ReadingStep):
            for index, alert in enumerate(site.step.alerts):
                if alert.once and not _comes_back(procedure, alert.branch):
                    message = f"the branch `{alert.branch}` does not come back, so nothing is confirmed there"
                    yield site.fault(f"{message}; accepted: a branch that ends with `return`", "alerts", index, "once")
                yield from _alert(procedure, site, site.step, alert, ("alerts", index))
        elif isinstance(site.step, CalculationStep):
            yield from _calculation(procedure, site, site.step)


def _identification(site: Site, step: IdentificationStep) -> Iterator[Fault]:
    if step.count > len(step.items):
        message = f"`count` asks for {step.count} and there are {len(step.items)} items; accepted: at most that many"
        yield site.fault(message, "count")
    for index, item in enumerate(step.items):
        spoken = {
            word for phrase in (*item.agrees, *item.differs, item.id.replace("-", " ")) for word in phrase.split()
        }
        for word in sorted(spoken & _PLACES):
            message = (
                f"item `{item.id}` goes by the {word}, which never identifies a person; accepted: name, date of birth"
            )
            yield site.fault(message + ", record number and the like", "items", index)


def _comes_back(procedure: Procedure, name: str) -> bool:
    return any(branch.ends.do == "return" for branch in procedure.branches if branch.id == name)


def _alert(procedure: Procedure, site: Site, step: ReadingStep, alert: Alert, where: Where) -> Iterator[Fault]:
    value = step.value
    under = "below" if alert.kept is None else "kept"
    limits = [(key, limit) for key, limit in ((under, alert.below), ("above", alert.above)) if limit is not None]
    if alert.kept is not None and not isinstance(value, DateValue):
        yield site.fault(f"`kept` has no meaning for a {value.type}; accepted: with a date", *where, "kept")
    if alert.percent is not None and (alert.beside is None or not isinstance(value, NumberValue)):
        message = "`percent` is a share of the figure that a value stands beside; accepted: for a number, with `beside`"
        yield site.fault(message, *where, "percent")
    if isinstance(value, ChoiceValue):
        for key, _ in limits:
            yield site.fault(f"`{key}` has no meaning for a choice; accepted: `is`", *where, key)
        if alert.beside is not None:
            if alert.is_:
                yield site.fault("`is` has no meaning with `beside`; accepted: one of the two", *where, "is")
            yield from _beside(procedure, site, value, alert.beside, (*where, "beside"))
        elif not alert.is_:
            yield site.fault("it never goes off; accepted: `is` with some of the choices", *where)
        for index, name in enumerate(alert.is_):
            if name not in value.choices:
                yield site.fault(
                    f"`{name}` is no choice here; accepted: {in_words(list(value.choices))}", *where, "is", index
                )
        return
    if alert.is_:
        yield site.fault(f"`is` has no meaning for a {value.type}; accepted: `below` and `above`", *where, "is")
    if not isinstance(value, NumberValue | DateValue):
        yield site.fault(f"a {value.type} has no alerts; accepted: alerts on numbers, dates and choices", *where)
        return
    if not limits and not alert.is_:
        yield site.fault("it never goes off; accepted: `below`, `above` or both", *where)
    if alert.beside is not None:
        yield from _beside(procedure, site, value, alert.beside, (*where, "beside"))
        return
    least, most = (value.least, value.most) if isinstance(value, NumberValue) else (value.earliest, value.latest)
    for key, limit in limits:
        never = limit >= most if key == "above" else limit <= least
        if never:
            message = f"`{key}: {limit}` never goes off in the range {least} to {most}; accepted: a limit inside it"
            yield site.fault(message, *where, key)


def _beside(
    procedure: Procedure, site: Site, value: NumberValue | DateValue | ChoiceValue, name: str, where: Where
) -> Iterator[Fault]:
    """What to compare with is there by then, in the same unit or of the same choices, and cannot be left out."""
    other = next((each for each in sites(procedure) if each.step.id == name), None)
    spec = other.step.stated if other is not None else None
    chosen = isinstance(value, ChoiceValue)
    accepted = f"accepted: an earlier critical reading {'of choices' if chosen else 'or calculation in the same unit'}"
    if other is None or not isinstance(spec, ChoiceValue if chosen else NumberValue):
        what = "is no step" if other is None else f"gives no {'choice' if chosen else 'number'}"
        yield site.fault(f"`beside` names `{name}`, which {what}; {accepted}", *where)
    elif misfit := _misfit(value, spec):
        yield site.fault(f"`beside` names `{name}`, {misfit}; {accepted}", *where)
    elif not earlier(procedure, other, site):
        yield site.fault(f"`beside` names `{name}`, which is given later; {accepted}", *where)
    elif not other.step.critical:
        yield site.fault(f"`beside` names `{name}`, which is not critical and may be left out; {accepted}", *where)
    elif not asked_with(procedure, other.step, site.step):
        yield site.fault(f"`beside` names `{name}`, which is not always due; {accepted}", *where)


def _misfit(value: ValueSpec, other: ValueSpec) -> str:
    """Why two values cannot be compared, or nothing."""
    if isinstance(value, ChoiceValue) and isinstance(other, ChoiceValue):
        return "" if set(value.choices) & set(other.choices) else "which has no choice in common"
    ours, theirs = (each.unit if isinstance(each, NumberValue) else "days" for each in (value, other))
    return "" if ours == theirs else f"in {theirs}, and the value is in {ours}"


def _calculation(procedure: Procedure, site: Site, step: CalculationStep) -> Iterator[Fault]:
    info = FORMULAS.get(step.formula)
    if info is None:
        yield site.fault(f"there is no formula `{step.formula}`; accepted: {in_words(list(FORMULAS))}", "formula")
        return
    terms = list(info.terms)
    for term in terms:
        if term not in step.inputs:
            yield site.fault(f"`inputs` lacks `{term}`; the formula `{step.formula}` needs {in_words(terms)}", "inputs")
    units: dict[str, Unit] = {}
    for term, name in step.inputs.items():
        if term not in info.terms:
            message = f"`{term}` is no term of the formula `{step.formula}`; accepted: {in_words(terms)}"
            yield site.fault(message, "inputs", term)
            continue
        try:
            units[term] = _input(procedure, site, name, term, info.terms[term])
        except DoseError as error:
            yield site.fault(str(error), "inputs", term)
    yield from _result(site, step, info.unit, units)


def _input(procedure: Procedure, site: Site, name: str, term: str, wanted: TermInfo) -> Unit:
    """The unit an input comes in. Raises DoseError with the sentence to show."""
    for setting in procedure.settings:
        if setting.id == name:
            unit = (
                parse_quantity(setting.value, f"the setting `{name}`").unit
                if wanted.shapes != ("count",)
                else Unit(("parts",))
            )
            return _fitting(unit, name, term, wanted)
    source = next((other for other in sites(procedure) if other.step.id == name), None)
    value = source.step.stated if source is not None else None
    if source is None or not isinstance(value, NumberValue):
        what = "is no step or setting" if source is None else "gives no number"
        raise DoseError(f"`{term}` comes from `{name}`, which {what}; accepted: a number reading or a setting")
    if not earlier(procedure, source, site):
        raise DoseError(f"`{term}` comes from `{name}`, which is given later; accepted: an earlier reading")
    if not asked_with(procedure, source.step, site.step):
        raise DoseError(f"`{term}` comes from `{name}`, which is not always due; accepted: the same `when` for both")
    return _fitting(parse_unit(value.unit, f"the unit `{value.unit}` of `{name}`"), name, term, wanted)


def _fitting(unit: Unit, name: str, term: str, wanted: TermInfo) -> Unit:
    if unit.shape not in wanted.shapes:
        raise DoseError(f"`{term}` comes from `{name}` in {unit}; accepted: {wanted.about}, such as `{wanted.example}`")
    return unit


def _result(site: Site, step: CalculationStep, unit: str, units: dict[str, Unit]) -> Iterator[Fault]:
    if unit and step.value.unit != unit:
        message = f"`{step.formula}` gives {unit}, and `unit` is `{step.value.unit}`; accepted: `{unit}`"
        yield site.fault(message, "value", "unit")
    drugs = {term: found.dimensions[0] for term, found in units.items() if found.shape.startswith("drug")}
    if len(set(drugs.values())) > 1:
        listed = " and ".join(f"`{term}` in {units[term]}" for term in drugs)
        yield site.fault(f"no factor turns one into the other: {listed}; accepted: the same kind of amount", "inputs")
