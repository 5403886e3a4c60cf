"""The formulas by name, what each needs, and one way to work any of them out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from companion.dose import formulas as f
from companion.dose.conversions import Pounds, pounds_rule
from companion.dose.plausible import check_usual, range_of
from companion.dose.quantity import Quantity, parse_count, parse_quantity
from companion.dose.rounding import rounding_rule
from companion.dose.working import Derived, Worked, finish
from companion.errors import DoseError
from companion.speech.units import Unit, shape_words

Terms = Mapping[str, Quantity]


@dataclass(frozen=True)
class TermInfo:
    """What a term may be. `shapes` are `Unit.shape`s; `example` shows how it is written."""

    about: str
    shapes: tuple[str, ...]
    example: str


@dataclass(frozen=True)
class FormulaInfo:
    """A formula: its terms, all required, and the unit of its result (empty where the terms decide)."""

    about: str
    terms: Mapping[str, TermInfo]
    unit: str
    work: Callable[[Terms, Pounds], Derived]


_TERMS: Final[Mapping[str, TermInfo]] = {
    "required": TermInfo("the dose ordered", ("drug",), "14 units"),
    "strength": TermInfo("the strength on the label", ("drug/volume",), "100 units/mL"),
    "marked-for": TermInfo("the strength the syringe is marked for", ("drug/volume",), "100 units/mL"),
    "per-weight": TermInfo("the dose per body mass", ("drug/body mass",), "2.5 mg/kg"),
    "per-weight-day": TermInfo("the day's dose per body mass", ("drug/body mass/time",), "25 mg/kg/day"),
    "per-weight-time": TermInfo("the dose per body mass and time", ("drug/body mass/time",), "10 mcg/kg/min"),
    "weight": TermInfo("the body mass", ("body mass",), "65 kg"),
    "daily": TermInfo("the day's dose", ("drug", "drug/time"), "1500 mg"),
    "parts": TermInfo("the number of doses a day", ("count",), "4"),
    "volume": TermInfo("the volume to infuse", ("volume",), "1500 mL"),
    "time": TermInfo("the time it runs over", ("time",), "6 h"),
    "rate": TermInfo("the flow", ("volume/time",), "150 mL/h"),
    "drop-factor": TermInfo("the drop factor of the giving set", ("drops/volume",), "20 drops/mL"),
    "drops": TermInfo("the drops counted", ("drops/time",), "42 drops/min"),
    "per-time": TermInfo("the dose per time", ("drug/time",), "850 units/h"),
}


def _formula(about: str, terms: str, unit: str, work: Callable[[Terms, Pounds], Derived]) -> FormulaInfo:
    return FormulaInfo(about, MappingProxyType({name: _TERMS[name] for name in terms.split()}), unit, work)


def _weighed(t: Terms, term: str, pounds: Pounds) -> Derived:
    return f.dose_by_weight(t[term], t["weight"], pounds)


def _part(t: Terms, pounds: Pounds) -> Derived:
    daily = _weighed(t, "per-weight-day", pounds)
    return daily.then(f.part_of_day(daily.exact, t["parts"]))


def _held(first: Derived, t: Terms) -> Derived:
    return first.then(f.volume(first.exact, t["strength"]))


def _flow(t: Terms, pounds: Pounds) -> Derived:
    hourly = f.hourly_by_weight(t["per-weight-time"], t["weight"], pounds)
    return hourly.then(f.rate_for_dose(hourly.exact, t["strength"]))


FORMULAS: Final[Mapping[str, FormulaInfo]] = MappingProxyType(
    {
        "volume": _formula(
            "volume that holds a dose", "required strength", "mL", lambda t, _p: f.volume(t["required"], t["strength"])
        ),
        "marks": _formula(
            "mark on the scale of an insulin syringe",
            "required strength marked-for",
            "units",
            lambda t, _p: f.marks(t["required"], t["strength"], t["marked-for"]),
        ),
        "dialed": _formula(
            "units dialed on a pen", "required strength", "units", lambda t, _p: f.dialed(t["required"], t["strength"])
        ),
        "dose-by-weight": _formula(
            "dose for a body mass", "per-weight weight", "", lambda t, p: _weighed(t, "per-weight", p)
        ),
        "volume-by-weight": _formula(
            "volume that holds a dose for a body mass",
            "per-weight weight strength",
            "mL",
            lambda t, p: _held(_weighed(t, "per-weight", p), t),
        ),
        "part-of-day": _formula(
            "one of equal parts of a day's dose", "daily parts", "", lambda t, _p: f.part_of_day(t["daily"], t["parts"])
        ),
        "daily-by-weight": _formula(
            "day's dose for a body mass", "per-weight-day weight", "", lambda t, p: _weighed(t, "per-weight-day", p)
        ),
        "part-by-weight": _formula(
            "one of equal parts of a day's dose for a body mass", "per-weight-day weight parts", "", _part
        ),
        "part-volume-by-weight": _formula(
            "volume of one of equal parts of a day's dose for a body mass",
            "per-weight-day weight parts strength",
            "mL",
            lambda t, p: _held(_part(t, p), t),
        ),
        "rate": _formula(
            "flow of a volume over a time", "volume time", "mL/h", lambda t, _p: f.rate(t["volume"], t["time"])
        ),
        "drops": _formula(
            "drops of a volume over a time",
            "volume time drop-factor",
            "drops/min",
            lambda t, _p: f.drops(t["volume"], t["time"], t["drop-factor"]),
        ),
        "drops-at-rate": _formula(
            "drops of a flow",
            "rate drop-factor",
            "drops/min",
            lambda t, _p: f.drops_at_rate(t["rate"], t["drop-factor"]),
        ),
        "rate-of-drops": _formula(
            "flow of counted drops",
            "drops drop-factor",
            "mL/h",
            lambda t, _p: f.rate_of_drops(t["drops"], t["drop-factor"]),
        ),
        "rate-for-dose": _formula(
            "flow that gives a dose per time",
            "per-time strength",
            "mL/h",
            lambda t, _p: f.rate_for_dose(t["per-time"], t["strength"]),
        ),
        "dose-rate-by-weight": _formula(
            "dose per hour for a body mass",
            "per-weight-time weight",
            "",
            lambda t, p: f.hourly_by_weight(t["per-weight-time"], t["weight"], p),
        ),
        "rate-by-weight": _formula(
            "flow that gives a dose per time for a body mass", "per-weight-time weight strength", "mL/h", _flow
        ),
        "time-left": _formula(
            "time a volume lasts at a flow", "volume rate", "min", lambda t, _p: f.time_left(t["volume"], t["rate"])
        ),
    }
)
"""Every formula a calculation step or the command line can name."""


def formula_info(name: str) -> FormulaInfo:
    """Raises DoseError for an unknown name."""
    if name not in FORMULAS:
        raise DoseError(f"`{name}` is not a formula; accepted: {', '.join(FORMULAS)}")
    return FORMULAS[name]


def result_unit(formula: str, units: Mapping[str, Unit]) -> Unit:
    """The unit a formula's result comes in when its terms come in `units`. Raises DoseError where they do not fit."""
    info = formula_info(formula)
    terms = {name: _fitting(term, Quantity(Fraction(1), units[name])) for name, term in info.terms.items()}
    return info.work(terms, "2.2").exact.unit


def work_out(
    formula: str,
    inputs: Mapping[str, str | Quantity],
    *,
    rounding: str = "usual",
    pounds: str = "2.2",
    usual: Mapping[str, tuple[Quantity, Quantity]] = MappingProxyType({}),
) -> Worked:
    """The result of a formula with its working.

    `inputs` holds every term by name, as a quantity or as text such as `14 units`. `usual` narrows, by term, the
    least and most that pass without remark; ten times beyond is refused. Raises DoseError, one sentence.
    """
    info = formula_info(formula)
    if unknown := [name for name in (*inputs, *usual) if name not in info.terms]:
        raise DoseError(f"`{unknown[0]}` is no term of the formula `{formula}`; accepted: {', '.join(info.terms)}")
    terms: dict[str, Quantity] = {}
    cautions: tuple[str, ...] = ()
    for name, term in info.terms.items():
        if name not in inputs:
            raise DoseError(
                f"{term.about} is missing; the formula `{formula}` needs `{name}`, such as `{term.example}`"
            )
        given = _term(term, inputs[name])
        limits = range_of(*usual[name], given.unit) if name in usual else None
        cautions += given.cautions + check_usual(term.about, given, limits)
        terms[name] = given
    derived = info.work(terms, pounds_rule(pounds))
    worked = finish(formula, derived, rounding_rule(rounding))
    cautions += derived.cautions + check_usual("the result", derived.exact)
    return replace(worked, cautions=cautions + worked.cautions)


def _term(term: TermInfo, given: str | Quantity) -> Quantity:
    if isinstance(given, str):
        if "count" in term.shapes:
            return _fitting(term, parse_count(given, term.about))
        given = parse_quantity(given, term.about, example=term.example)
    if given.value <= 0:
        raise DoseError(f"{term.about} is not above zero; accepted: such as `{term.example}`")
    return _fitting(term, given)


def _fitting(term: TermInfo, given: Quantity) -> Quantity:
    if given.unit.shape not in term.shapes:
        raise DoseError(
            f"{term.about} cannot be {given.words()}, {shape_words(given.unit.shape)}; "
            f"accepted: {' or '.join(map(shape_words, term.shapes))}, such as `{term.example}`"
        )
    return given
