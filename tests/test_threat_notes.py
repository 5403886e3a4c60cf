"""What the guides promise is there: every test that the record's threat notes name, every file pointed to."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
NOTES = (ROOT / "companion" / "record" / "README.md").read_text(encoding="utf-8")
NAMED = sorted(set(re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", NOTES)))
GUIDES = (
    "README.md",
    "DEVELOPERS.md",
    "procedures/README.md",
    "tests/bench/README.md",
    *sorted(str(path.relative_to(ROOT)) for path in (ROOT / "companion").rglob("README.md")),
)


def test_the_notes_name_tests() -> None:
    assert len([name for _, name in NAMED if name]) > 30


@pytest.mark.parametrize(("path", "name"), NAMED, ids=lambda part: part.rsplit("/", 1)[-1] or "file")
def test_it_is_there(path: str, name: str) -> None:
    assert (ROOT / path).is_file()
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    assert not name or name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("guide", GUIDES)
def test_what_a_guide_points_to_is_there(guide: str) -> None:
    text = (ROOT / guide).read_text(encoding="utf-8")
    linked = [ROOT / guide / ".." / to for to in re.findall(r"\]\(([^)#:]+)\)", text)]
    named = [ROOT / to for to in re.findall(r"`((?:tests|demo|procedures)/[\w/.-]+\.\w+)", text)]
    assert [str(path) for path in (*linked, *named) if not path.resolve().exists()] == []
