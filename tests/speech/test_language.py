"""What the program says by itself stands in one file a language.

The line: a sentence is three words or more with a capital first letter and a mark at its end, as what is spoken has.
Looked through are the packages that speak in a session. Errors, which are raised, are for the terminal and stay with
what raises them; notes on the screen begin with a small letter. A rehearsal from memory understands English alone (its
ideas, rules and word counts are English), so what it says about English talk stands with what it judges; the working of
a dose is the dose command's, and is spoken in English sessions only."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "companion"
SPEAK = [
    *sorted((PACKAGE / "machine").glob("*.py")),
    *sorted((PACKAGE / "procedure" / "kinds").glob("*.py")),
    PACKAGE / "procedure" / "described.py",
    *sorted((PACKAGE / "speech").glob("*.py")),
    *sorted((PACKAGE / "conversation").glob("*.py")),
    PACKAGE / "sites" / "spoken.py",
]


def sentences(code: str) -> Iterator[str]:
    """Every literal that is a sentence, f-strings with `0` for each field; docstrings and what is raised left out."""
    tree = ast.parse(code)
    left_out: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            left_out |= {id(inner) for inner in ast.walk(node)}
        elif isinstance(node, ast.JoinedStr):
            left_out |= {id(inner) for inner in ast.walk(node) if inner is not node and isinstance(inner, ast.Constant)}
    for node in ast.walk(tree):
        if id(node) in left_out:
            continue
        text = ""
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        elif isinstance(node, ast.JoinedStr):
            text = "".join(str(part.value) if isinstance(part, ast.Constant) else "0" for part in node.values)
        if re.fullmatch(r"\s*[A-Z0][^|]*[.?!]\s*", text) and len(text.split()) >= 3:
            yield text


@pytest.mark.parametrize("path", SPEAK, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_sentence_stands_elsewhere(path: Path) -> None:
    assert list(sentences(path.read_text(encoding="utf-8"))) == []


def test_it_would_be_found() -> None:
    code = """
def f(n):
    "Says how many."
    say("Not yet taken.")
    say(f"{n} to go now.")
    raise Fault("That is no good.")
"""
    assert list(sentences(code)) == ["Not yet taken.", "0 to go now."]
