"""The command line of a session: help everywhere, where the record is, and going on without naming it."""

import sys
from pathlib import Path

import pytest
import typer

from companion.cli import main
from companion.cli.app import COMMANDS, GROUPS, app_for
from tests.commands import KEYBOARD, SHORT, companion

GROUP_COMMANDS = [
    (name, str(command.name or command.callback.__name__.rstrip("_")))
    for name in GROUPS
    for group in app_for([name]).registered_groups
    if isinstance(group.typer_instance, typer.Typer)
    for command in group.typer_instance.registered_commands
    if command.callback is not None
]


@pytest.mark.parametrize("asked", ["-h", "--help"])
@pytest.mark.parametrize("words", [(), *((name,) for name in (*COMMANDS, *GROUPS)), *GROUP_COMMANDS])
def test_help_is_asked_for_in_two_ways_everywhere(
    words: tuple[str, ...], asked: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`guide -h` had said "No such option", while `rehearse -h` explained."""
    monkeypatch.setattr(sys, "argv", ["companion", *words, asked])
    with pytest.raises(SystemExit) as ended:
        main()
    told = capsys.readouterr()
    assert ended.value.code == 0 and told.err == ""
    assert "Usage:" in told.out and " ".join(["companion", *words]) in " ".join(told.out.split())


def test_the_level_of_help_is_still_told_by_the_long_option(tmp_path: Path) -> None:
    done = companion("rehearse", str(SHORT), "--help", "headings", *KEYBOARD, home=tmp_path, typed="that is all\n")
    assert done.returncode == 0 and "Usage:" not in done.stdout
    assert "Heading" in done.stdout or "heading" in done.stdout


def test_where_the_record_is_is_told_as_it_begins_and_resume_finds_it(tmp_path: Path) -> None:
    """A session that was killed had left its user without the path, and `resume` alone asked for one."""
    none = companion("resume", home=tmp_path)
    assert none.returncode == 1
    assert "no session was left open here" in none.stderr and "companion guide PROCEDURE" in none.stderr
    options = KEYBOARD
    for _ in range(2):
        begun = companion("guide", str(SHORT), "--performer", "41", *options, home=tmp_path)
        assert begun.returncode == 1
    lines = begun.stdout.splitlines()
    at, told = next((n, line) for n, line in enumerate(lines) if line.startswith("The record: "))
    assert at < next(n for n, line in enumerate(lines) if "Lay everything" in line)
    assert Path(told.removeprefix("The record: ")).is_file()
    # A name begins with the second at which it was begun: of two of one second either is the newest.
    path = sorted((tmp_path / "records").glob("*.jsonl"))[-1]
    assert path.name[:16] == Path(told.removeprefix("The record: ")).name[:16]
    rehearsed = companion("rehearse", str(SHORT), *options, home=tmp_path)
    assert "The record: " in rehearsed.stdout
    again = companion("resume", *options, home=tmp_path, typed="tray is complete\n")
    assert f"* Going on with {path}" in again.stdout and f"The record: {path}" in again.stdout
    assert "# tray is complete" in again.stdout
