"""A fault of the program's own is one sentence too."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from companion.cli import main
from tests.commands import companion

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("can_write", [True, False])
def test_a_fault_of_the_programs_own_is_one_sentence_and_its_details_a_file(tmp_path: Path, can_write: bool) -> None:
    """Exit code EX_SOFTWARE of BSD's sysexits.h."""
    home = tmp_path / "home"
    if not can_write:
        home.write_text("a file stands where the folder should be", encoding="utf-8")
    script = (
        "import sys, companion.cli.app as app\n"
        "def broken(words): raise ZeroDivisionError('a fault of ours')\n"
        "app.app_for = broken\n"
        "from companion.cli import main\n"
        "main()\n"
    )
    env = {**os.environ, "COMPANION_HOME": str(home)}
    done = subprocess.run([sys.executable, "-c", script], env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 70 and done.stdout == ""
    assert done.stderr.count("\n") == 1 and "ZeroDivisionError" in done.stderr
    details = home / "cache" / "last-fault.txt"
    if can_write:
        assert str(details) in done.stderr
        assert "a fault of ours" in details.read_text(encoding="utf-8")
        assert details.stat().st_mode & 0o777 == 0o600
    else:
        assert "could not be kept" in done.stderr


def test_a_clock_beyond_what_python_counts_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A machine whose clock showed a year past 7000 was told of a fault of the program itself. CPython counts
    nanoseconds in 64 bits (`_PyTime_t`), which end in 2262; what it raises for more is raised here."""

    def beyond() -> float:
        raise OverflowError("timestamp too large to convert to C _PyTime_t")

    monkeypatch.setattr(time, "time", beyond)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 1 and "clock of this machine shows a year after 2262" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        "guide tests/data/short.yaml --keyboard --silent --performer 41",
        "rehearse hand-hygiene --keyboard --silent",
        "review tests/data/records --silent --no-browser",
        f"record trust {'ab' * 32}",
        "record retention 30",
        "site new",
    ],
)
def test_a_home_that_takes_no_files_is_named(words: str) -> None:
    """The review room once ended in a fault of the program itself there."""
    if not Path("/sys/kernel").exists():
        pytest.skip("needs /sys (Linux), where nobody makes a folder")
    done = companion(*words.split(" "), home=Path("/sys/companion"))
    assert done.returncode == 1 and "/sys/companion" in done.stderr.splitlines()[-1]
    assert "fault of the program" not in done.stderr and "Traceback" not in done.stderr
