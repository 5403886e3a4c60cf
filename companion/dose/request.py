"""What somebody asks in one go: an order, an infusion or a conversion; which formulas answer it, one after another."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Final

from companion.dose.conversions import convert, pounds_rule
from companion.dose.devices import Syringe, parse_device
from companion.dose.measuring import Measured, measure
from companion.dose.plausible import check_usual
from companion.dose.quantity import Quantity, parse_quantity, parse_strength
from companion.dose.registry import formula_info, work_out
from companion.dose.rounding import as_shown, rounding_rule
from companion.dose.working import Worked, finish
from companion.errors import DoseError, UsageError

_INSULIN_USUAL: Final = "0.5 units to 100 units"
"""What passes without remark as one dose in an insulin syringe; this project's own guard."""


@dataclass(frozen=True)
class Request:
    """Everything as text, None where not given. Which fields go together is decided by `answer`."""

    order: str | None = None
    strength: str | None = None
    device: str | None = None
    weight: str | None = None
    parts: str | None = None
    infuse: str | None = None
    over: str | None = None
    rate: str | None = None
    drops: str | None = None
    drop_factor: str | None = None
    convert: str | None = None
    to: str | None = None
    usual: str | None = None


@dataclass(frozen=True)
class Answer:
    """Results in the order they were worked out, the last one the one asked for."""

    results: tuple[Worked, ...]
    device: Syringe | None = None
    measured: Measured | None = None

    @property
    def volume(self) -> Worked | None:
        """The volume to draw up, where there is one."""
        return next((each for each in self.results if each.unit == "mL"), None)


class _Asked:
    """A request being answered: every field taken is ticked off, so that one left over can be refused."""

    def __init__(self, request: Request, rounding: str | None, pounds: str) -> None:
        self._given = {each.name: getattr(request, each.name) for each in fields(request)}
        self._given = {name: text for name, text in self._given.items() if text is not None}
        self._taken: set[str] = set()
        self._rounding = rounding
        self._pounds = pounds
        self.results: tuple[Worked, ...] = ()

    def has(self, name: str) -> bool:
        return name in self._given

    def take(self, name: str, because: str) -> str:
        """Raises UsageError where it was not given."""
        if name not in self._given:
            raise UsageError(f"{_option(name)} is missing; {because}")
        self._taken.add(name)
        return str(self._given[name])

    def work(
        self, formula: str, usual: Mapping[str, tuple[Quantity, Quantity]] | None = None, **inputs: str | Quantity
    ) -> Quantity:
        """Work a formula out and go on with its exact result. Terms are given with `_` for `-`."""
        terms = {name.replace("_", "-"): value for name, value in inputs.items()}
        rule = self._rounding or "usual"
        worked = work_out(formula, terms, rounding=rule, pounds=self._pounds, usual=usual or {})
        self.results += (worked,)
        return worked.exact

    def converted(self) -> None:
        given = parse_quantity(self.take("convert", ""), "the quantity to convert", laboratory=True, example="143 lb")
        cautions = given.cautions + check_usual("the quantity to convert", given)
        to = self.take("to", "a conversion needs the unit to convert to, such as `--to kg`")
        derived = convert(given, to, pounds_rule(self._pounds))
        rule = as_shown(derived.exact.value) if self._rounding is None else rounding_rule(self._rounding)
        worked = finish("convert", derived, rule)
        self.results += (replace(worked, cautions=cautions + worked.cautions),)

    def nothing_left(self, kind: str) -> None:
        """Raises UsageError for a field that has no part in this kind of request."""
        for name in self._given:
            if name not in self._taken:
                raise UsageError(f"{_option(name)} has no use with {kind}; leave it out")


def _option(name: str) -> str:
    return f"`--{name.replace('_', '-')}`"


def answer(request: Request, rounding: str | None = None, pounds: str = "2.2") -> Answer:
    """Work the request out. Raises DoseError for a quantity, UsageError for fields that do not go together."""
    rounding_rule(rounding or "usual")
    pounds_rule(pounds)
    device = parse_device(request.device) if request.device is not None else None
    if device is not None and device.marked_for is not None and rounding is None:
        rounding = "ten-thousandths"  # the scale of the syringe decides, not the rule for volumes
    asked = _Asked(request, rounding, pounds)
    if asked.has("order"):
        kind = _ordered(asked, device)
    elif asked.has("convert"):
        asked.converted()
        kind = "a conversion"
    elif asked.has("drops"):
        asked.work("rate-of-drops", drops=asked.take("drops", ""), drop_factor=_drop_factor(asked))
        kind = "drops counted"
    elif asked.has("infuse") and asked.has("over"):
        flow = asked.work("rate", volume=asked.take("infuse", ""), time=asked.take("over", ""))
        _then_drops(asked, flow)
        kind = "a volume to infuse"
    elif asked.has("rate"):
        kind = _flowing(asked)
    elif asked.has("infuse"):
        raise UsageError('`--infuse` needs `--over` or `--rate`, such as `--over "6 h"`')
    else:
        raise UsageError(
            'there is nothing to work out; accepted: `--order "14 units" --strength "100 units/mL"`, '
            '`--infuse "1500 mL" --over "6 h"`, `--rate "150 mL/h" --drop-factor 15`, `--convert "143 lb" --to kg`'
        )
    measured = _measured(asked, device) if device is not None else None
    asked.nothing_left(kind)
    return Answer(asked.results, device, measured)


def _flowing(asked: _Asked) -> str:
    flow = asked.take("rate", "")
    if asked.has("infuse"):
        asked.work("time-left", volume=asked.take("infuse", ""), rate=flow)
    elif not asked.has("drop_factor"):
        raise UsageError("`--rate` needs `--drop-factor` for drops a minute, or `--infuse` for the time a volume lasts")
    if asked.has("drop_factor"):
        asked.work("drops-at-rate", rate=flow, drop_factor=_drop_factor(asked))
    return "a flow"


def _ordered(asked: _Asked, device: Syringe | None) -> str:
    text = asked.take("order", "")
    order = parse_quantity(text, "the order")
    usual = _usual(asked, device)
    if order.unit.shape == "volume/time":
        asked.work("drops-at-rate", {"rate": usual} if usual else None, rate=order, drop_factor=_drop_factor(asked))
        return "an order in volume per time"
    if not order.unit.shape.startswith("drug") or order.unit.shape == "drug/volume":
        raise DoseError(
            f"the order `{text}` is not a dose; accepted: an amount of medicine such as `14 units`, `2.5 mg/kg`, "
            f"`25 mg/kg/day`, `850 units/h`, `10 mcg/kg/min`, or a flow such as `150 mL/h`"
        )
    dose = _for_weight(asked, order, usual) if "body mass" in order.unit.dimensions else order
    narrowed = usual if dose is order else None
    if dose.unit.shape == "drug/time" and dose.unit.names[1] != "day":
        if dose is order or asked.has("strength"):
            limits = {"per-time": narrowed} if narrowed else None
            _then_drops(asked, asked.work("rate-for-dose", limits, per_time=dose, strength=_strength(asked)))
        return "an order per time"
    if dose.unit.shape == "drug/time" or asked.has("parts"):
        if order.unit.shape == "drug/body mass":
            raise UsageError(f"`--parts` needs an order per day; write `{order}/day` if that is what is meant")
        parts = asked.take("parts", "an order per day needs the number of equal doses, such as `--parts 4`")
        dose = asked.work("part-of-day", {"daily": narrowed} if narrowed else None, daily=dose, parts=parts)
        narrowed = None
    if dose is order or asked.has("strength") or device is not None:
        limits = {"required": narrowed} if narrowed else None
        asked.work("volume", limits, required=dose, strength=_strength(asked))
    return f"an order in {order.unit}"


def _for_weight(asked: _Asked, order: Quantity, usual: tuple[Quantity, Quantity] | None) -> Quantity:
    weight = asked.take("weight", 'an order per kg needs the body mass, such as `--weight "65 kg"`')
    time = order.unit.names[2:]
    if not time:
        return asked.work("dose-by-weight", {"per-weight": usual} if usual else None, per_weight=order, weight=weight)
    if time == ("day",):
        limits = {"per-weight-day": usual} if usual else None
        return asked.work("daily-by-weight", limits, per_weight_day=order, weight=weight)
    limits = {"per-weight-time": usual} if usual else None
    return asked.work("dose-rate-by-weight", limits, per_weight_time=order, weight=weight)


def _strength(asked: _Asked) -> Quantity:
    example = formula_info("volume").terms["strength"].example
    return parse_strength(asked.take("strength", f'a volume needs it, such as `--strength "{example}"`'))


def _drop_factor(asked: _Asked) -> str:
    """A bare number is taken as drops per mL: that is how giving sets are named."""
    text = asked.take("drop_factor", "drops need it, such as `--drop-factor 20`").strip()
    return f"{text} drops/mL" if re.fullmatch(r"[0-9.,]+", text) else text


def _then_drops(asked: _Asked, flow: Quantity) -> None:
    if asked.has("drop_factor"):
        asked.work("drops-at-rate", rate=flow, drop_factor=_drop_factor(asked))


def _usual(asked: _Asked, device: Syringe | None) -> tuple[Quantity, Quantity] | None:
    text = _INSULIN_USUAL if device is not None and device.marked_for is not None else None
    if asked.has("usual"):
        text = asked.take("usual", "")
    if text is None:
        return None
    least, to, most = text.partition(" to ")
    if not to:
        raise UsageError(f"`--usual {text}` is not a range; accepted: such as `4 units to 60 units`")
    return parse_quantity(least, "the usual least"), parse_quantity(most, "the usual most")


def _measured(asked: _Asked, device: Syringe) -> Measured:
    asked.take("device", "")
    worked = asked.results[-1] if asked.results else None
    if worked is None or worked.formula != "volume":
        raise UsageError("`--device` has no use here: there is no volume to draw up; leave it out")
    strength = _strength(asked)
    exact = worked.exact if device.marked_for is not None else Quantity.of(worked.rounded, worked.exact.unit)
    return measure(exact.value, device, strength)
