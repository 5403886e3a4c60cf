"""Properties that hold for any order: against plain fractions, and against pint for the dimensions."""

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.dose import FORMULAS, Quantity, parse_quantity, work_out
from companion.dose.plausible import usual_range
from companion.errors import DoseError
from companion.speech.numbers import decimal_of, half_up, shown, written
from companion.speech.units import Unit, parse_unit
from tests.dose.pint_words import NAMES, in_pint, unit_in_pint

DRUGS = {"mass": ("mcg", "mg", "g"), "substance": ("mmol",), "equivalents": ("mEq",), "units": ("units",)}
OTHERS = {
    "volume": ("mL", "L"),
    "time": ("min", "h"),
    "body mass": ("kg", "lb"),
    "drops": ("drops",),
    "count": ("parts",),
}
FIGURES = st.decimals(min_value="0.001", max_value="9999", places=3)
UNITS = st.one_of(
    st.sampled_from(list(NAMES)).map(lambda name: Unit((name,))),
    st.tuples(st.sampled_from(list(NAMES)), st.sampled_from(list(NAMES)))
    .map(Unit)
    .filter(lambda unit: unit.dimensions[0] != unit.dimensions[1]),
)


@given(FIGURES, UNITS, UNITS)
def test_a_unit_goes_into_another_exactly_where_it_does_in_pint(value: Decimal, unit: Unit, other: Unit) -> None:
    ours = Quantity(Fraction(value), unit)
    if unit_in_pint(unit).dimensionality == unit_in_pint(other).dimensionality:
        changed = ours.to(other)
        assert changed.unit == other
        assert in_pint(changed) == in_pint(ours)
    else:
        with pytest.raises(DoseError):
            ours.to(other)


IN_PINT: dict[str, Callable[[dict[str, Any]], Any]] = {
    "volume": lambda t: t["required"] / t["strength"],
    "dose-by-weight": lambda t: t["per-weight"] * t["weight"],
    "volume-by-weight": lambda t: t["per-weight"] * t["weight"] / t["strength"],
    "daily-by-weight": lambda t: t["per-weight-day"] * t["weight"],
    "rate": lambda t: t["volume"] / t["time"],
    "drops": lambda t: t["volume"] * t["drop-factor"] / t["time"],
    "drops-at-rate": lambda t: t["rate"] * t["drop-factor"],
    "rate-of-drops": lambda t: t["drops"] / t["drop-factor"],
    "rate-for-dose": lambda t: t["per-time"] / t["strength"],
    "dose-rate-by-weight": lambda t: t["per-weight-time"] * t["weight"],
    "rate-by-weight": lambda t: t["per-weight-time"] * t["weight"] / t["strength"],
    "time-left": lambda t: t["volume"] / t["rate"],
}
PARTS = {"part-of-day", "part-by-weight", "part-volume-by-weight"}
"""Formulas where a number of parts stands for that many a day: checked by fractions below."""


@st.composite
def terms(draw: st.DrawFn, formula: str) -> dict[str, Quantity]:
    """Any fitting terms, all amounts of medicine in units of one kind."""
    drug = draw(st.sampled_from(list(DRUGS)))
    made = {}
    for name, info in FORMULAS[formula].terms.items():
        shape = info.shapes[0].split("/")
        names = [draw(st.sampled_from(DRUGS[drug] if each == "drug" else OTHERS[each])) for each in shape]
        made[name] = Quantity(Fraction(draw(FIGURES)), Unit(tuple(names)))
    return made


@pytest.mark.parametrize("formula", IN_PINT)
@given(st.data())
def test_a_formula_has_the_figure_and_the_dimension_that_pint_gives(formula: str, data: st.DataObject) -> None:
    given_terms = data.draw(terms(formula))
    exact = FORMULAS[formula].work(given_terms, "exact").exact
    expected = IN_PINT[formula]({name: in_pint(each) for name, each in given_terms.items()})
    assert expected.dimensionality == in_pint(exact).dimensionality
    assert expected == in_pint(exact)


def test_every_formula_is_checked_by_one_of_the_two() -> None:
    assert set(IN_PINT) | PARTS | {"marks", "dialed"} == set(FORMULAS)


@given(FIGURES, st.sampled_from(["U-40", "U-100"]))
def test_the_mark_on_a_fitting_syringe_is_the_dose(dose: Decimal, strength: str) -> None:
    label = parse_quantity(strength)
    given_terms = {"required": Quantity(Fraction(dose), parse_unit("units")), "strength": label, "marked-for": label}
    assert FORMULAS["marks"].work(given_terms, "2.2").exact == given_terms["required"]
    del given_terms["marked-for"]
    assert FORMULAS["dialed"].work(given_terms, "2.2").exact == given_terms["required"]


@given(FIGURES, FIGURES, st.integers(1, 12), FIGURES, FIGURES)
def test_parts_of_a_day_are_what_fractions_say(
    per_kg: Decimal, weight: Decimal, parts: int, amount: Decimal, volume: Decimal
) -> None:
    given_terms = {
        "per-weight-day": Quantity(Fraction(per_kg), parse_unit("mg/kg/day")),
        "weight": Quantity(Fraction(weight), parse_unit("lb")),
        "parts": Quantity(Fraction(parts), parse_unit("parts")),
        "strength": Quantity(Fraction(amount) / Fraction(volume), parse_unit("mg/mL")),
    }
    dose = Fraction(per_kg) * Fraction(weight) * 10 / 22 / parts
    by_weight = {name: each for name, each in given_terms.items() if name != "strength"}
    assert FORMULAS["part-by-weight"].work(by_weight, "2.2").exact.value == dose
    assert FORMULAS["part-volume-by-weight"].work(given_terms, "2.2").exact.value == dose / Fraction(amount) * Fraction(
        volume
    )
    daily = {"daily": Quantity(Fraction(per_kg), parse_unit("mg")), "parts": given_terms["parts"]}
    assert FORMULAS["part-of-day"].work(daily, "2.2").exact.value == Fraction(per_kg) / parts


@given(
    st.decimals(min_value="0.1", max_value="9999", places=2),
    st.decimals(min_value="0.1", max_value="999", places=2),
    st.decimals(min_value="0.5", max_value="20", places=1),
)
def test_a_volume_from_text_is_what_fractions_say(dose: Decimal, amount: Decimal, in_ml: Decimal) -> None:
    expected = Fraction(dose) * Fraction(in_ml) / Fraction(amount)
    inputs = {"required": f"{written(dose)} mg", "strength": f"{written(amount)} mg/{written(in_ml)} mL"}
    try:
        worked = work_out("volume", inputs)
    except DoseError as refused:
        assert "ten times" in str(refused) or "tenth" in str(refused) or "rounded" in str(refused)
        assert not Fraction("0.01") <= expected <= 5000 or Fraction(amount) / Fraction(in_ml) > 10000
        return
    assert worked.exact.value == expected
    step = Fraction(1, 100) if expected < 1 else Fraction(1, 10)
    assert -step / 2 < Fraction(worked.rounded) - expected <= step / 2, "half up, not half down"
    assert Fraction(worked.rounded) % step == 0


@given(st.fractions(min_value=0, max_value=10**6), st.integers(0, 6))
def test_half_up_is_the_nearest_and_a_tie_goes_up(exact: Fraction, places: int) -> None:
    rounded = Fraction(half_up(exact, places))
    assert -Fraction(1, 2) < (rounded - exact) * 10**places <= Fraction(1, 2)


@given(st.decimals(min_value=0, max_value=10**9, places=8), st.integers(0, 6))
def test_half_up_is_the_standard_librarys(exact: Decimal, places: int) -> None:
    wide = Context(prec=60, rounding=ROUND_HALF_UP)
    assert half_up(Fraction(exact), places) == exact.quantize(Decimal(1).scaleb(-places), context=wide)


@given(st.decimals(min_value="0.0001", max_value="9999999", places=4))
def test_what_is_written_is_read_back(value: Decimal) -> None:
    assert parse_quantity(f"{written(value)} mL").value == Fraction(value)


@given(st.fractions(min_value=Fraction(1, 10**6), max_value=10**6))
def test_a_figure_shown_is_near_the_figure_meant(exact: Fraction) -> None:
    text = shown(exact)
    near = Fraction(text.removeprefix("about ").replace(",", ""))
    assert near == exact if not text.startswith("about") else abs(near - exact) <= exact / 1000
    assert Fraction(decimal_of(exact)) == exact or abs(Fraction(decimal_of(exact)) - exact) < exact / 10**49


@given(st.text(max_size=70))
def test_any_text_is_a_quantity_or_one_sentence_of_ours(text: str) -> None:
    try:
        found = parse_quantity(text)
    except DoseError as refused:
        assert str(refused).startswith("the quantity")
        return
    assert found.value > 0


@given(UNITS)
def test_a_usual_range_runs_forwards(unit: Unit) -> None:
    found = usual_range(unit)
    assert found is None or 0 < found[0] < found[1]
