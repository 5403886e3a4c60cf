"""`companion usable` as people type it."""

import sys
from typing import Any

import pytest

from companion.cli import main
from tests.dose.sources import COMMON, USP

Capture = pytest.CaptureFixture[str]
ADA = "ADA Standards of Care, read"
JBDS = "JBDS 01, 4th ed. 2020, read"


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> Any:
    def run(*args: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["companion", "usable", *args])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return run


@pytest.mark.parametrize(
    ("args", "code", "says", "source"),
    [
        ("--expiry 2022-06 --opened 2022-01-05 --on 2022-02-01", 0, "discard it on 2022-02-02", USP),
        ("--expiry 2022-06 --opened 2022-01-05 --on 2022-02-02", 2, "its day to be discarded is 2022-02-02", USP),
        ("--expiry 2022-06 --opened 2022-01-05 --on 2022-02-02 --keeps 42", 0, "discard it on 2022-02-16", COMMON),
        ("--expiry 2022-01 --opened 2022-01-05 --on 2022-01-31", 0, "discard it on 2022-01-31", COMMON),
        ("--expiry 2022-06 --on 2022-06-30", 0, "through 2022-06-30", COMMON),
        ("--expiry 2022-06 --on 2022-07-01", 2, "It expired on 2022-06-30", COMMON),
        ("--due 08:00 --on 2022-02-01T08:30", 0, "It is due now.", COMMON),
        ("--due 08:00 --on 2022-02-01T08:31", 2, "too late: 31 minutes after", COMMON),
        ("--due 08:00 --on 2022-02-01T07:01 --window 60min", 0, "due now", COMMON),
        ("--due 08:00 --on 2022-02-01T06:00", 2, "too early: 120 minutes before", COMMON),
    ],
)
def test_a_vial_and_a_time(command: Any, args: str, code: int, says: str, source: str) -> None:
    found, out, err = command(*args.split())
    assert (found, err) == (code, ""), source
    assert says in out, source


@pytest.mark.parametrize(
    ("reading", "limits", "code", "says", "source"),
    [
        ("70 mg/dL", "ada", 0, "Not low", ADA),
        ("69 mg/dL", "ada", 2, "level 1", ADA),
        ("54 mg/dL", "ada", 2, "level 1", ADA),
        ("53 mg/dL", "ada", 2, "level 2", ADA),
        ("4.0 mmol/L", "jbds", 0, "Not low", JBDS),
        ("3.9 mmol/L", "jbds", 2, "Low: treat it", JBDS),
        ("3.9 mmol/L", "ada", 0, "About 70 mg/dL", "180.156 g/mol: 70.26 mg/dL, classified before rounding"),
        ("69 mmol/L", "ada", 2, "above the usual most", "the unit is mixed up, and no meter shows that: " + COMMON),
        ("3.8 mmol/L", "ada", 2, "About 68 mg/dL", "180.156 g/mol: 68.46 mg/dL"),
    ],
)
def test_a_glucose(command: Any, reading: str, limits: str, code: int, says: str, source: str) -> None:
    found, out, err = command("--glucose", reading, "--limits", limits)
    assert (found, err) == (code, ""), source
    assert says in out, source


def test_all_at_once_is_no_where_one_is_no(command: Any) -> None:
    args = ("--expiry", "2031-06", "--due", "08:00", "--glucose", "60 mg/dL", "--on", "2030-03-04 08:10")
    code, out, _ = command(*args)
    assert code == 2
    assert [line.split(":")[0] for line in out.splitlines()[:3]] == ["Vial", "Dose", "Glucose"]


@pytest.mark.parametrize(
    ("args", "says"),
    [
        ((), "nothing to judge"),
        (("--opened", "2030-02-04"), "`--opened` needs `--expiry`"),
        (("--expiry", "13/2031"), "`--expiry 13/2031` cannot be read; accepted: a month or day such as `2031-06`"),
        (("--expiry", "2031-06", "--opened", "yesterday"), "`--opened yesterday` cannot be read"),
        (("--expiry", "2031-06", "--keeps", "a month"), "`--keeps a month` is no number of days"),
        (
            ("--expiry", "2031-06", "--opened", "2026-02-04", "--keeps", "0", "--on", "2026-02-05"),
            "accepted: 1 or more",
        ),
        (("--due", "8"), "`--due 8` cannot be read; accepted: hours and minutes"),
        (("--due", "08:00", "--window", "half an hour"), "`--window half an hour` cannot be read"),
        (("--glucose", "69"), "has no unit"),
        (("--glucose", "690 mmol/L"), "check the figures and unit"),
        (("--glucose", "69 mg/dL", "--limits", "none"), "accepted: ada, jbds"),
        (("--due", "08:00", "--on", "noon"), "`--on noon` cannot be read"),
    ],
    ids=str,
)
def test_bad_input_gets_one_clear_sentence(command: Any, args: tuple[str, ...], says: str) -> None:
    code, out, err = command(*args)
    assert (code, out, err.count("\n")) == (1, "", 1)
    assert says in err
