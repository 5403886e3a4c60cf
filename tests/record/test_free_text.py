"""Every way by which somebody's own words could enter a record, typed as a user would. The people are invented."""

import subprocess
from datetime import date
from pathlib import Path

import pytest

from companion import places
from companion.record.privacy import path_for_record
from tests.commands import KEYBOARD, SHORT, companion


def guide(*options: str, typed: str = "") -> "subprocess.CompletedProcess[str]":
    return companion("guide", str(SHORT), *KEYBOARD, *options, typed=typed)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--performer", "Odile Quill"), "a record names nobody"),
        (("--performer", "48213"), "accepted: 2 digits"),
        (("--performer", "٤١"), "a record names nobody"),
        (("--set", "rub-time=Odile Quill 48213"), "it looks like a name"),
        (("--set", "rub-time=born 4 May 1961"), "it looks like a date of birth"),
    ],
)
def test_it_is_held_back_before_a_record_begins(options: tuple[str, ...], says: str) -> None:
    done = guide(*options)
    assert done.returncode == 1 and done.stderr.count("\n") == 1
    assert says in done.stderr
    assert not places.records().exists()


def test_a_tag_may_be_said_in_words_and_what_is_typed_beside_the_phrases_is_not_kept() -> None:
    done = guide("--performer", "four one", typed="Odile Quill, 14 Quill Lane\nborn 4 May 1961\ntray is complete\n")
    assert done.returncode == 1 and "companion resume" in done.stderr
    (path,) = places.records().glob("*.jsonl")
    written = path.read_text(encoding="utf-8").lower()
    assert '"performer":"41"' in written and '"phrase":"tray is complete"' in written
    assert not [word for word in ("odile", "quill", "1961", "4 may") if word in written]


def test_the_folder_of_a_scenario_is_named_in_the_record_and_so_looked_at(tmp_path: Path) -> None:
    folder = tmp_path / "Odile Quill 48213"
    folder.mkdir()
    ours = Path(__file__).parents[1] / "data" / "scene"
    for path in ours.iterdir():
        (folder / path.name).symlink_to(path)
    done = companion("demo", "--scenario", str(folder))
    assert done.returncode == 1 and "--scenario: held back: it looks like a name" in done.stderr
    assert not places.records().exists()


@pytest.mark.parametrize("folder", ["Margaret Thompson 12-03-1948", "okafor_ngozi", "mrn 4482913"])
def test_the_path_of_a_script_is_named_in_the_record_and_so_looked_at(tmp_path: Path, folder: str) -> None:
    script = tmp_path / folder / "script.yaml"
    done = companion("rehearse", "hand-hygiene", "--script", str(script))
    assert done.returncode == 1 and "--script: held back: it looks like" in done.stderr
    assert not places.records().exists()


def test_the_users_own_folder_may_bear_a_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "margaret"))
    told = path_for_record("--script", tmp_path / "margaret" / "class" / "one.yaml", date(2031, 3, 4))
    assert told == "~/class/one.yaml" and Path(told).expanduser() == tmp_path / "margaret" / "class" / "one.yaml"


@pytest.mark.parametrize("tag", ["²³", "٤١", "odile", "1", "1234"])
def test_a_students_tag_is_two_or_three_plain_digits(tag: str) -> None:
    done = companion("rehearse", "hand-hygiene", "--student", tag, *KEYBOARD)
    assert done.returncode == 1 and "accepted: a tag of two or three digits, never a name" in done.stderr
    assert not places.records().exists()
