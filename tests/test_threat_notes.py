"""Every test that DEVELOPERS.md names is there, so that the threat notes cannot promise what nothing shows."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
NOTES = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NAMED = sorted(set(re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", NOTES)))


def test_the_notes_name_tests() -> None:
    assert len([name for _, name in NAMED if name]) > 30


@pytest.mark.parametrize(("path", "name"), NAMED, ids=lambda part: part.rsplit("/", 1)[-1] or "file")
def test_it_is_there(path: str, name: str) -> None:
    assert (ROOT / path).is_file()
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    assert not name or name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
