"""One writing, one answer: from the dose command, a typed reply, a spoken one and the proofreader of procedure files.

The rows and their sources stand in tests/data/writings.tsv."""

import json
import shlex
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from typer.testing import CliRunner

from companion.cli.app import app_for
from companion.errors import CompanionError, ProcedureError
from companion.meaning.typed import accepted, parse_typed
from companion.procedure.loading import load_text
from companion.procedure.proofreading.wanting import wanting
from companion.speech.value_phrases import phrases_for
from companion.speech.values import NumberValue
from companion.speech.writing import remarks

DATA = Path(__file__).parent.parent / "data"
TODAY = date(2026, 1, 20)
FIGURES = "0.05 0.25 0.5 1 1.5 2 2.5 5 10 12.5 14 15 18 20 25 50 100 120 150 1000 1500 10000 12500 25000 100000 1000000"
ORDERS = {
    "mL": "--infuse {} --over '1 h'",
    "L": "--infuse {} --over '1 h'",
    "mL/h": "--rate {} --drop-factor 60",
    "drops/min": "--drops {} --drop-factor 60",
    "mg/mL": "--order '5 mg' --strength {}",
    "kg": "--order '1 mg/kg' --weight {}",
}


@dataclass(frozen=True)
class Row:
    writing: str
    unit: str
    answer: str
    said: str
    source: str

    @property
    def refused(self) -> bool:
        return self.answer[0] in "!?"

    @property
    def sentence(self) -> str:
        """The sentence of a refusal, or the caution."""
        return self.answer[2:] if self.refused else self.answer[2:].partition(" ")[2]

    @property
    def figure(self) -> Fraction:
        return Fraction(self.answer.split(" ")[1])

    @property
    def asked(self) -> NumberValue:
        """A value among figures that hold whatever the writing could be taken for."""
        return NumberValue(type="number", unit=self.unit, among=FIGURES.split(), by=Decimal(10**6))  # type: ignore[call-arg]


ROWS = [
    Row(*line.split("\t"))
    for line in (DATA / "writings.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]
each_row = pytest.mark.parametrize("row", ROWS, ids=lambda row: row.writing)


def test_the_table_is_long_enough_and_every_row_has_its_source() -> None:
    assert len({row.writing for row in ROWS}) == len(ROWS) >= 60
    assert all(row.source for row in ROWS)


@each_row
def test_the_dose_command(row: Row) -> None:
    strength = f"{1000 if not row.refused and row.figure >= 5000 else 1} {row.unit}/mL"
    order = ORDERS.get(row.unit, f"--order {{}} --strength '{strength}'")
    line = [part.format(row.writing) for part in shlex.split(order)]
    done = CliRunner().invoke(app_for(["dose"]), ["dose", "--json", "--rounding", "ten-thousandths", *line])
    if row.refused:
        assert done.exit_code != 0 and row.sentence in str(done.exception), row.source
        return
    answer = json.loads(done.stdout)
    worked = Fraction(answer["results"][-1]["value"]) * (1000 if row.figure >= 5000 else 1)
    assert worked == row.figure, row.source
    assert (row.sentence in answer["cautions"]) == bool(row.sentence)
    assert any("without a comma" in each for each in answer["cautions"]) == bool(row.sentence)


@each_row
def test_a_typed_reply(row: Row) -> None:
    if row.refused:
        with pytest.raises(CompanionError) as fault:
            parse_typed(row.asked, row.writing, TODAY)
        assert row.sentence in str(fault.value), row.source
        return
    value = parse_typed(row.asked, row.writing, TODAY)
    assert (Fraction(value.text), value.unit) == (row.figure, row.unit), row.source


@each_row
def test_a_spoken_reply(row: Row) -> None:
    """What may be heard is the closed set of phrases of the value asked for; typed as words, they mean the same."""
    if not row.said:
        return
    words = row.said.removeprefix("no: ")
    said = phrases_for(row.asked, TODAY).get(words)
    if row.said.startswith("no: "):
        assert said is None
        with pytest.raises(CompanionError):
            parse_typed(row.asked, words, TODAY)
    else:
        assert said is not None and said == parse_typed(row.asked, words, TODAY)
        assert row.refused or Fraction(said.text) == row.figure


@each_row
def test_the_proofreader(row: Row) -> None:
    text = (DATA / "short.yaml").read_text(encoding="utf-8")
    assert text.count("summary: ") == 1
    start = text.index("summary: ")
    text = text.replace(text[start : text.index("\n", start)], f"summary: {json.dumps(f'Give {row.writing} now.')}")
    if row.answer.startswith("!"):
        with pytest.raises(ProcedureError) as fault:
            load_text(text)
        assert row.sentence in str(fault.value), row.source
        return
    wants = [want for want in wanting(load_text(text).procedure) if "without a comma" in want]
    assert wants == ([row.sentence] if row.answer.startswith("~") else [])


@each_row
def test_the_program_writes_by_its_own_rules(row: Row) -> None:
    """Nothing that it shows, or names as accepted, would itself be refused or warned of."""
    if row.refused:
        return
    value = parse_typed(row.asked, row.writing, TODAY)
    assert not list(remarks(f"Heard: {value.written()}. {accepted(row.asked, TODAY)}"))


def test_a_figure_said_with_a_last_zero_is_refused_as_it_is_written() -> None:
    """Five point zero: heard as fifty, as 5.0 is read as 50 (Joint Commission)."""
    milligrams = NumberValue(type="number", unit="mg", least=Decimal(1), most=Decimal(9))
    with pytest.raises(CompanionError, match=r"`5\.0 milligrams` has a zero at the end"):
        parse_typed(milligrams, "five point zero milligrams", TODAY)


def test_a_result_of_the_laboratory_may_end_in_a_zero_where_it_is_one() -> None:
    """Joint Commission: the trailing zero is allowed where it shows how finely a result was measured."""
    glucose = NumberValue(type="number", unit="mmol/L", least=Decimal(1), most=Decimal(30), by=Decimal("0.1"))
    assert parse_typed(glucose, "5.0 mmol/L", TODAY).text == "5"
    done = CliRunner().invoke(app_for(["usable"]), ["usable", "--glucose", "5.0 mmol/L"])
    assert done.exit_code == 0, done.output
