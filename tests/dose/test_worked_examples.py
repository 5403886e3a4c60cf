"""Twenty-eight worked examples from published nursing arithmetic, answer by answer."""

from decimal import Decimal
from typing import NamedTuple

import pytest

from companion.dose import work_out
from companion.speech.numbers import half_up
from tests.dose.sources import A, B, C, D, E, F


class Row(NamedTuple):
    row: str
    formula: str
    inputs: dict[str, str]
    before: str
    """The result to hundredths, half up, as the source prints it before its own rounding."""
    answer: str
    unit: str
    source: str
    rounding: str = "usual"


def drops(volume: str, time: str, factor: int) -> dict[str, str]:
    return {"volume": volume, "time": time, "drop-factor": f"{factor} drops/mL"}


def at_rate(rate: str, factor: int) -> dict[str, str]:
    return {"rate": rate, "drop-factor": f"{factor} drops/mL"}


def of(required: str, strength: str) -> dict[str, str]:
    return {"required": required, "strength": strength}


CEFA = {"per-weight-day": "25 mg/kg/day", "weight": "143 lb", "parts": "4"}
CHILD = {"per-weight": "2.5 mg/kg", "weight": "18 kg"}
HEPARIN = "25,000 units in 500 mL"

ROWS = [
    Row("1", "drops", drops("1500 mL", "6 h", 10), "41.67", "42", "drops/min", A),
    Row("2", "drops-at-rate", at_rate("150 mL/h", 15), "37.5", "38", "drops/min", A),
    Row("3", "drops", drops("100 mL", "30 min", 20), "66.67", "67", "drops/min", A),
    Row("4", "drops", drops("100 mL", "60 min", 15), "25", "25", "drops/min", A),
    Row("5", "drops", drops("1500 mL", "24 h", 60), "62.5", "63", "drops/min", A),
    Row("6", "drops-at-rate", at_rate("125 mL/h", 20), "41.67", "42", "drops/min", A),
    Row("7", "rate-for-dose", {"per-time": "1500 units/h", "strength": HEPARIN}, "30", "30", "mL/h", A),
    Row("7 drops", "drops-at-rate", at_rate("30 mL/h", 60), "30", "30", "drops/min", A),
    Row("8", "drops-at-rate", at_rate("250 mL/h", 15), "62.5", "63", "drops/min", A),
    Row("9", "drops", drops("75 mL", "20 min", 15), "56.25", "56", "drops/min", A),
    Row("10", "drops-at-rate", at_rate("200 mL/h", 15), "50", "50", "drops/min", A),
    Row("11", "volume", of("8,500 units", "20,000 units/mL"), "0.43", "0.43", "mL", A, "hundredths"),
    Row("12 dose", "part-by-weight", CEFA, "406.25", "406.25", "mg", A),
    Row("12", "part-volume-by-weight", {**CEFA, "strength": "250 mg/5 mL"}, "8.13", "8.1", "mL", A),
    Row("13", "volume", of("2 mg", "10 mg/2 mL"), "0.4", "0.4", "mL", A),
    Row("14", "volume", of("80 mg", "160 mg/5 mL"), "2.5", "2.5", "mL", A),
    Row("15", "drops", drops("1000 mL", "12 h", 15), "20.83", "21", "drops/min", B),
    Row("16", "volume", of("400,000 units", "300,000 units/mL"), "1.33", "1.3", "mL", B),
    Row("17", "rate-for-dose", {"per-time": "1,800 units/h", "strength": "100 units/mL"}, "18", "18", "mL/h", C),
    Row("18", "rate-for-dose", {"per-time": "850 units/h", "strength": HEPARIN}, "17", "17", "mL/h", D),
    Row("19", "drops", drops("1 L", "5.5 h", 15), "45.45", "45", "drops/min", E),
    Row("20 dose", "dose-by-weight", CHILD, "45", "45", "mg", F),
    Row("20", "volume-by-weight", {**CHILD, "strength": "125 mg/3 mL"}, "1.08", "1.08", "mL", F, "hundredths"),
    Row("21", "volume", of("200 mg", "500 mg/4 mL"), "1.6", "1.6", "mL", F),
    Row("22", "volume", of("25 mg", "60 mg/mL"), "0.42", "0.42", "mL", F),
    Row("23", "volume", of("60 mg", "100 mg/2.1 mL"), "1.26", "1.3", "mL", F),
    Row("24", "volume", of("40 mg", "20 mg/2 mL"), "4", "4", "mL", F),
    Row("25", "drops", drops("50 mL", "20 min", 10), "25", "25", "drops/min", F),
    Row("26", "drops", drops("30 mL", "40 min", 60), "45", "45", "drops/min", F),
    Row("27", "rate", {"volume": "1000 mL", "time": "8 h"}, "125", "125", "mL/h", F),
    Row("27 drops", "drops", drops("1000 mL", "8 h", 10), "20.83", "21", "drops/min", F),
    Row(
        "28",
        "dose-rate-by-weight",
        {"per-weight-time": "10 mcg/kg/min", "weight": "200 lb"},
        "54.55",
        "54.5",
        "mg/h",
        F,
    ),
]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"row {row.row}: {row.source[:20]}")
def test_the_answer_is_the_published_one(row: Row) -> None:
    worked = work_out(row.formula, row.inputs, rounding=row.rounding)
    assert half_up(worked.exact.value, 2) == Decimal(row.before), row.source
    assert (worked.rounded, worked.unit) == (Decimal(row.answer), row.unit), row.source
    assert worked.cautions == (), "a textbook's figures are usual ones"


def test_all_twenty_eight_rows_are_here() -> None:
    assert {int(row.row.split()[0]) for row in ROWS} == set(range(1, 29))


@pytest.mark.parametrize("row", ["2", "5", "8"])
def test_an_exact_half_goes_up_where_the_even_rule_or_a_binary_float_may_go_down(row: str) -> None:
    found = next(each for each in ROWS if each.row == row)
    exact = work_out(found.formula, found.inputs).exact.value
    assert exact.denominator == 2
    assert Decimal(found.answer) == int(exact) + 1


def test_rounding_happens_once_at_the_end() -> None:
    # 143.5 / 2.2 x 25 / 4 / 50 = 8.15340...; with the body mass rounded to 65.2 kg on the way it would be 8.15
    inputs = {"per-weight-day": "25 mg/kg/day", "weight": "143.5 lb", "parts": "4", "strength": "250 mg/5 mL"}
    assert work_out("part-volume-by-weight", inputs, rounding="ten-thousandths").rounded == Decimal("8.1534")


@pytest.mark.parametrize(
    ("required", "rounding", "answer"),
    [
        # nursing-school guides: under 1 mL to hundredths, over 1 mL to tenths
        ("0.994 mg", "usual", "0.99"),
        ("0.995 mg", "usual", "1"),
        ("1 mg", "usual", "1"),
        ("1.04 mg", "usual", "1"),
        ("1.05 mg", "usual", "1.1"),
        # any other rule is a setting
        ("1.05 mg", "hundredths", "1.05"),
        ("0.425 mg", "tenths", "0.4"),
        ("0.5 mg", "whole", "1"),
        ("2.0005 mg", "thousandths", "2.001"),
    ],
)
def test_the_rounding_rule(required: str, rounding: str, answer: str) -> None:
    assert work_out("volume", of(required, "1 mg/mL"), rounding=rounding).rounded == Decimal(answer)
