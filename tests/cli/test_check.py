"""The user's own procedures come first, and `companion check` says what is wrong."""

import shutil
from pathlib import Path

import pytest
import yaml

from companion import datafiles
from companion.errors import ProcedureError
from companion.procedure.loading import find, names
from tests.commands import inside
from tests.procedure.broken import WHOLE, broken

ROOT = Path(__file__).parents[2]


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's procedure folder, empty."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    folder = tmp_path / "procedures"
    folder.mkdir()
    return folder


def run(*arguments: str) -> tuple[int, list[str]]:
    code, said = inside("check", *arguments)
    return code, said.splitlines()


def test_a_name_of_the_library(own: Path) -> None:
    assert own.is_dir()
    assert find("subcutaneous-insulin") == datafiles.packaged("procedures") / "subcutaneous-insulin.yaml"
    assert "subcutaneous-insulin" in names()


def test_the_user_s_own_comes_first(own: Path) -> None:
    mine = own / "subcutaneous-insulin.yaml"
    shutil.copy(WHOLE, mine)
    assert find("subcutaneous-insulin") == mine
    assert find("subcutaneous-insulin.yaml") == mine
    assert names().count("subcutaneous-insulin") == 1


def test_a_path_is_a_path(own: Path) -> None:
    assert own.is_dir()
    assert find(str(WHOLE)) == WHOLE


@pytest.mark.parametrize("name", ["no-such-thing", "", "../whole", "procedures/none.yaml", "nul\0"])
def test_an_unknown_name_lists_what_exists(own: Path, name: str) -> None:
    shutil.copy(WHOLE, own / "my-drill.yaml")
    with pytest.raises(ProcedureError, match=r"one of .*my-drill.*subcutaneous-insulin") as caught:
        find(name)
    assert len(caught.value.faults) == 1


def test_check_says_so_when_nothing_is_wrong(own: Path) -> None:
    assert own.is_dir()
    code, lines = run("hand-hygiene", str(WHOLE))
    assert code == 0
    assert sum("no faults" in line for line in lines) == 2
    assert all("no faults" in line or line.startswith("* ") or ": note: " in line for line in lines)


def test_check_warns_of_what_a_usable_file_still_wants(own: Path) -> None:
    """Without ideas a student who said nothing had passed, and the check had found no fault."""
    text = (ROOT / "procedures" / "hand-hygiene.yaml").read_text(encoding="utf-8")
    body = yaml.safe_load(text)
    for branch in body["branches"]:
        branch.pop("emergency", None)
    for step in body["steps"]:
        for name in ("ideas", "sources", "after"):
            step.pop(name, None)
    mine = own / "mine.yaml"
    mine.write_text(yaml.safe_dump(body, sort_keys=False), encoding="utf-8")
    code, lines = run(str(mine))
    assert code == 0
    warned = [line for line in lines if line.startswith(f"* {mine}: without ")]
    assert [line.split("`")[1] for line in warned] == ["ideas", "sources", "after", "emergency: yes"]
    assert all(step["id"] in warned[0] and step["id"] in warned[1] for step in body["steps"])


def test_check_prints_every_fault_and_goes_on_to_the_next_file(own: Path) -> None:
    faulty = broken("many-faults", own)
    code, lines = run(str(faulty), "no-such-thing", str(WHOLE))
    assert code == 1
    assert sum(line.startswith(f"{faulty}:") for line in lines) == 7
    assert "there is no procedure `no-such-thing`" in lines[7]
    assert "no faults" in lines[8]
