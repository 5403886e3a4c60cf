"""A fault of the program's own is one sentence too."""

import os
import subprocess
import sys
from pathlib import Path

import pytest


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
