"""How a quantity may be written; what has been misread in the trade stands in tests/data/writings.tsv."""

from decimal import Decimal
from fractions import Fraction

import pytest

from companion.dose import FORMULAS, parse_quantity, parse_strength, quantity, result_unit, work_out
from companion.dose.quantity import parse_count
from companion.dose.rounding import rounding_rule
from companion.errors import DoseError
from companion.speech.units import parse_unit
from tests.dose.sources import COMMON, COMPUTED, ISMP


@pytest.mark.parametrize(
    ("text", "value", "unit", "words"),
    [
        ("14 units", "14", "units", "14 units"),
        ("1 unit", "1", "units", "1 unit"),
        ("0.5 mL", "0.5", "mL", "0.5 mL"),
        ("1500 mL", "1500", "mL", "1,500 mL"),
        ("25,000 units in 500 mL", "50", "units/mL", "25,000 units in 500 mL"),
        ("160 mg/5 mL", "32", "mg/mL", "160 mg in 5 mL"),
        ("125 mg per 3 mL", "125/3", "mg/mL", "125 mg in 3 mL"),
        ("100 mg / 2.1 mL", "1000/21", "mg/mL", "100 mg in 2.1 mL"),
        ("100 units/mL", "100", "units/mL", "100 units per mL"),
        ("U-100", "100", "units/mL", "100 units per mL"),
        ("10 mcg/kg/min", "10", "mcg/kg/min", "10 mcg per kg per minute"),
        ("10 mcg per kg per minute", "10", "mcg/kg/min", "10 mcg per kg per minute"),
        ("25 mg/kg/day", "25", "mg/kg/day", "25 mg per kg per day"),
        ("150 mL/h", "150", "mL/h", "150 mL per hour"),
        ("150 mL per hour", "150", "mL/h", "150 mL per hour"),
        ("20 drops/mL", "20", "drops/mL", "20 drops per mL"),
        ("143 lb", "143", "lb", "143 lb"),
        ("  14   units ", "14", "units", "14 units"),
        ("14 Units", "14", "units", "14 units"),
        ("fourteen units", "14", "units", "14 units"),
        ("half a milliliter", "0.5", "mL", "0.5 mL"),
        ("one hundred units per milliliter", "100", "units/mL", "100 units per mL"),
        ("1,234.5 mg", "1234.5", "mg", "1,234.5 mg"),
    ],
)
def test_a_quantity_is_read(text: str, value: str, unit: str, words: str) -> None:
    found = parse_quantity(text)
    assert (found.value, str(found.unit), found.words()) == (Fraction(value), unit, words)


@pytest.mark.parametrize(
    ("text", "says", "source"),
    [
        ("10 mg/5mL", "write `5 mL`", ISMP),
        ("1 %", "10 mg/mL", COMPUTED + ": 1 g in 100 mL"),
        ("-5 units", "negative", COMMON),
        ("−5 units", "negative", COMMON),
        ("0 units", "is zero", COMMON),
        ("0.0 units", "zero at the end", COMMON),
        ("10 mg/0 mL", "is zero", COMMON),
        ("units", "does not begin with a number", COMMON),
        ("½ mL", "does not begin with a number", COMMON),
        ("nan mg", "does not begin with a number", COMMON),
        ("1e3 mg", "a power or a product", COMMON),
        ("5 000.5 units", "write `5,000.5 units`", COMMON),
        ("1 mg/kg/min/h", "too many parts", COMMON),
        ("", "is empty", COMMON),
        ("5 mg " * 40, "too long", COMMON),
        ("٥ mg", "does not begin with a number", COMMON),
        ("10 mg/²mL", "does not begin with a number", COMMON),
    ],
)
def test_a_quantity_is_refused_with_what_to_write(text: str, says: str, source: str) -> None:
    with pytest.raises(DoseError) as refused:
        parse_quantity(text, "the order")
    sentence = str(refused.value)
    assert says in sentence, source
    assert sentence.startswith("the order")
    assert "\n" not in sentence


def test_a_laboratory_result_may_end_in_a_zero() -> None:
    # Joint Commission, Do Not Use list: the trailing zero is allowed where it shows the precision of a result
    assert parse_quantity("5.0 mmol/L", laboratory=True).value == 5


@pytest.mark.parametrize("text", ["100 units", "100 mL", "5 mL/mg", "5 mg/kg", "5 mg/h"])
def test_a_strength_is_an_amount_per_volume(text: str) -> None:
    with pytest.raises(DoseError, match="amount of medicine per volume"):
        parse_strength(text)


@pytest.mark.parametrize("text", ["0", "-1", "1.5", "100", "four", "", "3 mg"])
def test_a_number_of_parts_is_whole(text: str) -> None:
    with pytest.raises(DoseError, match="whole number"):
        parse_count(text)


@pytest.mark.parametrize("value", ["0", "-1", "NaN", "Infinity"])
def test_a_number_from_elsewhere_is_checked_too(value: str) -> None:
    with pytest.raises(DoseError, match="above zero"):
        quantity(Decimal(value), "mg")


@pytest.mark.parametrize(
    ("formula", "inputs", "says"),
    [
        ("volum", {}, "`volum` is not a formula; accepted: volume"),
        ("volume", {"strength": "100 units/mL"}, "the dose ordered is missing"),
        ("volume", {"required": "5 mg", "strength": "1 mg/mL", "time": "1 h"}, "`time` is no term"),
        ("volume", {"required": "5 mL", "strength": "1 mg/mL"}, "cannot be 5 mL, a volume"),
        ("volume", {"required": "5 mg", "strength": "5 mL"}, "cannot be 5 mL, a volume"),
        ("volume", {"required": "5 mg", "strength": "100 units/mL"}, "one cannot be turned into the other"),
        ("volume", {"required": "5 mmol", "strength": "10 mg/mL"}, "one cannot be turned into the other"),
        (
            "marks",
            {"required": "14 units", "strength": "100 units/mL", "marked-for": "40 units/mL"},
            "the strength is 100 units per mL and the syringe is marked for 40 units per mL",
        ),
        (
            "marks",
            {"required": "14 mg", "strength": "100 mg/mL", "marked-for": "100 mg/mL"},
            "accepted: an insulin syringe",
        ),
        ("volume", {"required": "51,000 mg", "strength": "1000 mg/mL"}, "more than ten times the usual most, 5,000 mg"),
        ("volume", {"required": "0.0009 mg", "strength": "1 mg/mL"}, "less than a tenth of the usual least, 0.01 mg"),
        ("volume", {"required": "0.1 units", "strength": "1000 units/mL"}, "nothing when rounded"),
        ("volume", {"required": "1 mg", "strength": "500 mg/mL"}, "nothing when rounded to hundredths"),
        ("dose-by-weight", {"per-weight": "1 mg/kg", "weight": "60 g"}, "a body mass in kg or lb"),
        ("dose-by-weight", {"per-weight": "1 mg/kg", "weight": "4,000 kg"}, "more than ten times"),
        ("part-of-day", {"daily": "100 mg/h", "parts": "2"}, "not a day's dose"),
        ("rate", {"volume": "1500 mL", "time": "6"}, "has no unit"),
        ("rate", {"volume": "1500 mL", "time": "6 mL"}, "accepted: a time"),
    ],
)
def test_a_calculation_is_refused(formula: str, inputs: dict[str, str], says: str) -> None:
    with pytest.raises(DoseError) as refused:
        work_out(formula, inputs)
    assert says in str(refused.value)


def test_the_usual_range_is_an_argument() -> None:
    usual = {"required": (parse_quantity("2 units"), parse_quantity("40 units"))}
    inputs = {"strength": "100 units/mL"}
    assert not work_out("volume", {**inputs, "required": "40 units"}, usual=usual).cautions
    assert (
        "above the usual most, 40 units"
        in work_out("volume", {**inputs, "required": "41 units"}, usual=usual).cautions[0]
    )
    assert "below the usual least" in work_out("volume", {**inputs, "required": "1 unit"}, usual=usual).cautions[0]
    assert work_out("volume", {**inputs, "required": "400 units"}, usual=usual).rounded == 4
    with pytest.raises(DoseError, match="more than ten times the usual most, 40 units"):
        work_out("volume", {**inputs, "required": "401 units"}, usual=usual)
    backwards = {"required": (parse_quantity("40 units"), parse_quantity("2 units"))}
    with pytest.raises(DoseError, match="backwards"):
        work_out("volume", {**inputs, "required": "5 units"}, usual=backwards)


def test_a_rounding_that_matters_is_a_caution() -> None:
    worked = work_out("volume", {"required": "1.5 mg", "strength": "100 mg/mL"})
    assert (worked.rounded, worked.written()) == (Decimal("0.02"), "0.02 mL")
    assert "33 %" in worked.cautions[0]  # 0.015 mL given as 0.02 mL: computed


def test_a_figure_agrees_only_with_the_rounded_result() -> None:
    worked = work_out("volume", {"required": "8,500 units", "strength": "20,000 units/mL"})
    assert worked.agrees(Decimal("0.43"))
    assert not worked.agrees(Decimal("0.425"))
    assert not worked.agrees(Decimal("0.42"))
    assert worked.unrounded == Decimal("0.425")


def test_a_working_is_plain_sentences() -> None:
    inputs = {"per-weight-time": "10 mcg/kg/min", "weight": "200 lb", "strength": "250 mg in 250 mL"}
    worked = work_out("rate-by-weight", inputs)
    assert worked.working == (
        "200 lb divided by 2.2 is about 90.909 kg.",
        "10 mcg per kg per minute, times about 90.909 kg, is about 909.091 mcg per minute.",
        "About 909.091 mcg per minute is about 54.545 mg per hour.",
        "About 54.545 mg per hour divided by 250 mg in 250 mL is about 54.545 mL per hour.",
        "Rounded to tenths, half up: 54.5 mL per hour.",
    )


@pytest.mark.parametrize("name", FORMULAS)
def test_every_formula_works_on_its_own_examples(name: str) -> None:
    info = FORMULAS[name]
    in_mg = {"required": "25 mg", "strength": "50 mg/mL", "per-time": "50 mg/h"}
    compatible = {} if name in ("marks", "dialed") else in_mg
    worked = work_out(name, {term: compatible.get(term, about.example) for term, about in info.terms.items()})
    assert worked.rounded > 0
    assert worked.working
    if info.unit:
        assert worked.unit == info.unit


def test_a_pen_counts_units_only() -> None:
    with pytest.raises(DoseError, match="a pen counts units, and the strength is 50 mg per mL"):
        work_out("dialed", {"required": "25 mg", "strength": "50 mg/mL"})


@pytest.mark.parametrize(("name", "accepted"), [("bankers", "usual, whole"), ("", "usual, whole")])
def test_an_unknown_rounding_rule_is_refused(name: str, accepted: str) -> None:
    with pytest.raises(DoseError, match=accepted):
        rounding_rule(name)


def test_a_unit_is_one_per_another() -> None:
    assert parse_unit("mL per hour") == parse_unit("mL/h")
    with pytest.raises(DoseError, match="unknown unit"):
        parse_unit("furlong")


@pytest.mark.parametrize(
    ("formula", "units", "result"),
    [
        ("volume", {"required": "g", "strength": "mg/mL"}, "mL"),
        ("dose-by-weight", {"per-weight": "mcg/kg", "weight": "lb"}, "mcg"),
        ("daily-by-weight", {"per-weight-day": "mg/kg/day", "weight": "kg"}, "mg/day"),
        ("part-of-day", {"daily": "units/day", "parts": "parts"}, "units"),
        ("dose-rate-by-weight", {"per-weight-time": "mcg/kg/min", "weight": "kg"}, "mg/h"),
    ],
)
def test_the_unit_of_a_result_is_known_beforehand(formula: str, units: dict[str, str], result: str) -> None:
    assert str(result_unit(formula, {term: parse_unit(unit) for term, unit in units.items()})) == result


def test_units_that_do_not_fit_a_formula_are_refused_beforehand() -> None:
    with pytest.raises(DoseError, match="one cannot be turned into the other"):
        result_unit("volume", {"required": parse_unit("units"), "strength": parse_unit("mg/mL")})
    with pytest.raises(DoseError, match="accepted: a time"):
        result_unit("rate", {"volume": parse_unit("mL"), "time": parse_unit("mL")})
