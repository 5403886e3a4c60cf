"""What the program says by itself stands in one place a language.

The line: a sentence is three words or more with a capital first letter and a mark at its end, as what is spoken has.
Looked through is what speaks or tells in a session or a rehearsal. Errors, which are raised, are for the terminal and
stay with what raises them; notes on the screen begin with a small letter."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from companion.speech.language import asides_of, en, ko, tell

PACKAGE = Path(__file__).parents[2] / "companion"
COMMANDS_ONLY = ("dates.py", "measuring.py", "plausible.py", "cautions.py", "zones.py")
"""What of `dose` and `sites` no session tells, but the commands `dose`, `usable` and `site` alone."""
SPEAK = [
    *sorted((PACKAGE / "machine").glob("*.py")),
    *sorted((PACKAGE / "procedure" / "kinds").glob("*.py")),
    PACKAGE / "procedure" / "described.py",
    *sorted((PACKAGE / "speech").glob("*.py")),
    *sorted((PACKAGE / "conversation").glob("*.py")),
    *sorted((PACKAGE / "rehearsal").rglob("*.py")),
    *sorted(
        path for room in ("dose", "sites") for path in (PACKAGE / room).rglob("*.py") if path.name not in COMMANDS_ONLY
    ),
    PACKAGE / "web" / "rehearsing.py",
    PACKAGE / "web" / "snapshot.py",
]


def literals(code: str) -> Iterator[str]:
    """Every literal, f-strings with `0` for each field; docstrings and what is raised left out."""
    tree = ast.parse(code)
    left_out: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            left_out |= {id(inner) for inner in ast.walk(node)}
        elif isinstance(node, ast.JoinedStr):
            left_out |= {id(part) for part in node.values if isinstance(part, ast.Constant)}
    for node in ast.walk(tree):
        if id(node) in left_out:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "0" for part in node.values)


def sentences(code: str) -> Iterator[str]:
    """Every literal that is a sentence."""
    for text in literals(code):
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
    say(f"{n}: {'Look again here.' if n else ''}")
    raise Fault("That is no good.")
"""
    assert list(sentences(code)) == ["Not yet taken.", "0 to go now.", "Look again here."]


def subjects(language: ModuleType, kind: str = "SENTENCES") -> dict[str, dict[str, str]]:
    """The files of a language, each with its sentences."""
    return {name: getattr(part, kind) for name, part in vars(language).items() if hasattr(part, kind)}


@pytest.mark.parametrize("language", [en, ko], ids=["en", "ko"])
def test_a_key_stands_in_one_file_of_a_language(language: ModuleType) -> None:
    keys = [key for part in subjects(language).values() for key in part]
    assert sorted(keys) == sorted(language.SENTENCES)
    keys += [key for part in subjects(en, "ENGLISH_ONLY").values() for key in part]
    assert sorted(keys) == sorted(language.SENTENCES | en.ENGLISH_ONLY)


def test_both_languages_have_the_same_keys_and_fields_subject_by_subject() -> None:
    english, korean = subjects(en), subjects(ko)
    assert list(english) == list(korean) and len(english) > 1
    for name, part in english.items():
        assert list(part) == list(korean[name]), name
        for key, text in part.items():
            ours, theirs = (set(re.findall(r"\{(\w+)\}", each)) for each in (text, korean[name][key]))
            assert theirs <= ours, key
            assert not re.search("[A-Za-z]", re.sub(r"\{\w+\}", "", korean[name][key])), key


def made_keys(code: str) -> Iterator[str]:
    """What the keys that are put together begin with, as `help ` of `tell(language, f"help {level}")`."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("tell", "told")):
            for key in node.args:
                if isinstance(key, ast.JoinedStr) and isinstance(key.values[0], ast.Constant):
                    yield str(key.values[0].value)


def test_every_sentence_is_told_somewhere() -> None:
    codes = [path.read_text("utf-8") for path in PACKAGE.rglob("*.py") if "language" not in path.parts]
    nodes = [node for code in codes for node in ast.walk(ast.parse(code))]
    whole = {node.value for node in nodes if isinstance(node, ast.Constant)}
    made = tuple(key for code in codes for key in made_keys(code))
    assert "help " in made
    assert [key for key in en.SENTENCES | en.ENGLISH_ONLY if key not in whole and not key.startswith(made)] == []


@pytest.mark.parametrize("language", ["en-US", "ko-KR"])
def test_what_the_sentences_of_a_rehearsal_offer_is_taken(language: str) -> None:
    asides = asides_of(language)
    hint, end = asides.offered
    assert hint in asides.hints and asides.end.fullmatch(end)
    for key in ("opening", "works"):
        text = tell(language, key, title="", count=4, how="")
        assert hint in text.lower() and end in text.lower()
    assert end in tell(language, "all said").lower()
