"""`companion dose` as people type it: results, exit codes, JSON, and one clear sentence for what cannot be."""

import json
import subprocess
import sys
from typing import Any

import pytest

from companion.cli import main

Capture = pytest.CaptureFixture[str]
ORDER = ("--order", "14 units", "--strength", "100 units/mL")


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> Any:
    """Run `companion dose ARGS` in this process; gives exit code, output and error text."""

    def run(*args: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["companion", "dose", *args])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return run


def test_fourteen_units_in_a_one_ml_syringe(command: Any) -> None:
    code, out, err = command(*ORDER, "--device", "1 mL syringe")
    assert (code, err) == (0, "")
    assert out.splitlines()[:2] == ["0.14 mL", "Draw to 0.14 mL on a 1 mL syringe, marked every 0.01 mL."]
    assert "14 units divided by 100 units per mL is 0.14 mL." in out
    assert "never an ordinary syringe" in out  # NPSA Rapid Response, 2010


def test_the_same_as_json(command: Any) -> None:
    code, out, _ = command(*ORDER, "--device", "1 mL syringe", "--json")
    found = json.loads(out, parse_float=pytest.fail)
    assert code == 0
    assert (found["volume_mL"], found["marks"]) == ("0.14", "0.14 mL")
    assert found["working"] == ["14 units divided by 100 units per mL is 0.14 mL."]
    assert len(found["cautions"]) == 2
    assert found["cannot_measure"] == []
    assert found["results"][0]["unrounded"] == "0.14"


def test_the_mark_on_an_insulin_syringe(command: Any) -> None:
    code, out, _ = command(*ORDER, "--device", "0.5 mL U-100 insulin syringe", "--json")
    assert (code, json.loads(out)["marks"]) == (0, "14 units")


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--order", "7 units", "--device", "1 mL U-100 insulin syringe marked every 2 units"), "Between marks"),
        (("--order", "31 units", "--device", "0.3 mL U-100 insulin syringe marked every 1 unit"), "Over capacity"),
        (("--order", "14 units", "--device", "1 mL U-40 insulin syringe"), "2.5 times the dose"),
        (("--order", "1 unit", "--device", "1 mL syringe"), "Too small"),
    ],
)
def test_what_the_device_cannot_measure_leaves_with_2_and_says_why(
    command: Any, args: tuple[str, ...], says: str
) -> None:
    code, out, _ = command(*args, "--strength", "100 units/mL")
    assert code == 2
    assert "Cannot be measured" in out
    assert says in out
    assert "Draw to" not in out
    code, out, _ = command(*args, "--strength", "100 units/mL", "--json")
    found = json.loads(out)
    assert (code, found["marks"]) == (2, None)
    assert says in found["cannot_measure"][0]


@pytest.mark.parametrize(
    ("args", "results"),
    [
        # rows 1, 7, 12, 17, 20, 27 and 28 of the worked examples, their sources there
        (("--infuse", "1500 mL", "--over", "6 h", "--drop-factor", "10"), ["250 mL/h", "42 drops/min"]),
        (
            ("--order", "1500 units/h", "--strength", "25,000 units in 500 mL", "--drop-factor", "60"),
            ["30 mL/h", "30 drops/min"],
        ),
        (
            ("--order", "25 mg/kg/day", "--weight", "143 lb", "--parts", "4", "--strength", "250 mg/5 mL"),
            ["1,625 mg/day", "406.25 mg", "8.1 mL"],
        ),
        (("--order", "1,800 units/h", "--strength", "100 units/mL"), ["18 mL/h"]),
        (
            ("--order", "2.5 mg/kg", "--weight", "18 kg", "--strength", "125 mg/3 mL", "--rounding", "hundredths"),
            ["45 mg", "1.08 mL"],
        ),
        (("--order", "10 mcg/kg/min", "--weight", "200 lb"), ["54.5 mg/h"]),
        (("--order", "10 mcg/kg/min", "--weight", "200 lb", "--pounds", "exact"), ["54.4 mg/h"]),
        (("--rate", "150 mL/h", "--drop-factor", "15 drops/mL"), ["38 drops/min"]),
        (("--order", "150 mL/h", "--drop-factor", "15"), ["38 drops/min"]),
        (("--infuse", "1 L", "--rate", "125 mL/h"), ["480 min"]),
        (("--drops", "42 drops/min", "--drop-factor", "10"), ["252 mL/h"]),
        (("--order", "1500 mg", "--parts", "3", "--strength", "250 mg/5 mL"), ["500 mg", "10 mL"]),
        (("--convert", "143 lb", "--to", "kg"), ["65 kg"]),
        (("--convert", "70 mg/dL", "--to", "mmol/L", "--rounding", "thousandths"), ["3.886 mmol/L"]),
    ],
)
def test_the_other_forms(command: Any, args: tuple[str, ...], results: list[str]) -> None:
    code, out, err = command(*args)
    assert (code, err) == (0, "")
    assert out.split("\n\n")[0].splitlines() == results


BAD = [
    (("--order", "-5 units", "--strength", "100 units/mL"), ("-5 units", "negative")),
    (("--order", "0 units", "--strength", "100 units/mL"), ("0 units", "more than zero")),
    (("--order", "14", "--strength", "100 units/mL"), ("14", "no unit")),
    (("--order", ".5 mg", "--strength", "1 mg/mL"), (".5 mg", "`0.5 mg`")),
    (("--order", "5.0 mg", "--strength", "1 mg/mL"), ("5.0 mg", "`5 mg`")),
    (("--order", "10 U", "--strength", "100 units/mL"), ("10 U", "`units`")),
    (("--order", "10 IU", "--strength", "100 units/mL"), ("10 IU", "`units`")),
    (("--order", "5 µg", "--strength", "1 mg/mL"), ("5 µg", "`mcg`")),
    (("--order", "10mg", "--strength", "1 mg/mL"), ("10mg", "`10 mg`")),
    (("--order", "100000 units", "--strength", "20,000 units/mL"), ("100000", "`100,000 units`")),
    (("--order", "60,000 mg", "--strength", "500 mg/mL"), ("60,000 mg", "ten times")),
    (("--order", "14 mg", "--strength", "100 units/mL"), ("mg", "units")),
    (("--order", "14 mL", "--strength", "100 units/mL"), ("14 mL", "not a dose")),
    (("--order", "14 units", "--strength", "100 units"), ("100 units", "per volume")),
    (("--order", "14 units", "--strength", "1:1,000"), ("1:1,000", "amount per volume")),
    (("--order", "14 units"), ("--strength", "missing")),
    (("--order", "2 mg/kg", "--strength", "1 mg/mL"), ("--weight", "missing")),
    ((*ORDER, "--device", "teaspoon"), ("teaspoon", "1 mL syringe")),
    ((*ORDER, "--device", "0.5 mL insulin syringe"), ("which insulin", "U-100")),
    (("--infuse", "1500 mL", "--over", "6"), ("6", "no unit")),
    (("--infuse", "1500 mL"), ("--over", "--rate")),
    (("--infuse", "5 cc", "--over", "6 h"), ("5 cc", "`mL`")),
    (("--convert", "5 mg", "--to", "mL"), ("5 mg", "mL")),
    ((*ORDER, "--over", "6 h"), ("--over", "leave it out")),
    (
        ("--order", "1500 units", "--strength", "U-100", "--device", "0.5 mL U-100 insulin syringe"),
        ("1,500", "ten times"),
    ),
    ((*ORDER, "--rounding", "bankers"), ("bankers", "usual, whole")),
    ((*ORDER, "--usual", "some"), ("some", "4 units to 60 units")),
    ((*ORDER, "--pounds", "2.3"), ("2.3", "2.2, exact")),
    ((), ("--order", "--infuse")),
]


@pytest.mark.parametrize(("args", "says"), BAD, ids=" ".join)
def test_bad_input_gets_one_clear_sentence(command: Any, args: tuple[str, ...], says: tuple[str, ...]) -> None:
    code, out, err = command(*args)
    assert (code, out) == (1, "")
    assert err.startswith("companion: ")
    assert err.count("\n") == 1
    assert err.count(". ") == 0, "one sentence"
    for words in says:
        assert words in err


def test_at_least_twenty_bad_inputs_give_as_many_different_sentences(command: Any) -> None:
    assert len({command(*args)[2] for args, _ in BAD}) == len(BAD) >= 20


def test_the_installed_command_itself() -> None:
    call = [sys.executable, "-m", "companion", "dose", *ORDER, "--device", "1 mL U-40 insulin syringe", "--json"]
    done = subprocess.run(call, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert json.loads(done.stdout)["volume_mL"] == "0.14"
