"""What the program says by itself, and the phrases that are its own, stand in one place a language.

The line: a sentence is three words or more with a capital first letter and a mark at its end, as what is spoken has.
Looked through is what speaks or tells in a session or a rehearsal. Errors, which are raised, are for the terminal and
stay with what raises them. A note on the screen may begin with a small letter: no literal is shown as one."""

import ast
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from types import ModuleType
from typing import get_args

import pytest

from companion.speech import language as languages
from companion.speech.controls import offered, on_or_end, reserved, right_or_wrong
from companion.speech.language import asides_of, control_phrases, digits_of, en, seconds_to_say, spelling_of, tell
from companion.speech.language.controls import Control
from companion.speech.language.one import Language

LANGUAGES = {
    found.name: import_module(f"{languages.__name__}.{found.name}")
    for found in iter_modules(languages.__path__)
    if found.ispkg
}
OTHERS = sorted(LANGUAGES.keys() - {"en"})
LATIN = {"en"}
"""Languages that are written in Latin letters; in the others a Latin letter is English left over."""
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


def test_every_language_is_known_by_its_name() -> None:
    assert {"en", "ko"} <= LANGUAGES.keys()
    for name, language in LANGUAGES.items():
        assert tell(f"{name.upper()}-XX", "no reason") == language.SENTENCES["no reason"]
        assert control_phrases(name) == language.LANGUAGE.controls


@pytest.mark.parametrize("language", LANGUAGES.values(), ids=LANGUAGES)
def test_a_key_stands_in_one_file_of_a_language(language: ModuleType) -> None:
    keys = [key for part in subjects(language).values() for key in part]
    assert sorted(keys) == sorted(language.SENTENCES)
    keys += [key for part in subjects(en, "ENGLISH_ONLY").values() for key in part]
    assert sorted(keys) == sorted(language.SENTENCES | en.ENGLISH_ONLY)


@pytest.mark.parametrize("other", OTHERS)
def test_all_languages_have_the_same_keys_and_fields_subject_by_subject(other: str) -> None:
    english, own = subjects(en), subjects(LANGUAGES[other])
    assert list(english) == list(own) and len(english) > 1
    for name, part in english.items():
        assert list(part) == list(own[name]), name
        for key, text in part.items():
            ours, theirs = (set(re.findall(r"\{(\w+)\}", each)) for each in (text, own[name][key]))
            assert theirs <= ours, key
            assert other in LATIN or not re.search("[A-Za-z]", re.sub(r"\{\w+\}", "", own[name][key])), key


@pytest.mark.parametrize("language", LANGUAGES.values(), ids=LANGUAGES)
def test_every_control_has_a_phrase_in_every_language(language: ModuleType) -> None:
    assert list(language.LANGUAGE.controls) == list(get_args(Control))
    assert all(language.LANGUAGE.controls.values())


@pytest.fixture
def partly(monkeypatch: pytest.MonkeyPatch) -> None:
    """A made-up language of which next to nothing is told yet."""
    monkeypatch.setitem(
        languages._KNOWN,
        "xx",
        Language(sentences={"going on": "Xa."}, controls={"repeat": ("xa xo",), "right": ("xi",)}),
    )


@pytest.mark.usefixtures("partly")
def test_what_a_language_leaves_open_is_english() -> None:
    """One that named some of the controls had left the others without any phrase, and no session could begin in it."""
    assert control_phrases("xx-YY") == {**control_phrases("en"), "repeat": ("xa xo",), "right": ("xi",)}
    assert {"xa xo", "help", "stop"} <= reserved("xx-YY") and "repeat" not in reserved("xx-YY")
    assert (
        offered("help", "xx") == "help" and right_or_wrong("xx") == "Xi or no?" and on_or_end("xx") == on_or_end("en")
    )
    assert (tell("xx", "going on"), tell("xx", "back")) == ("Xa.", tell("en", "back"))
    assert asides_of("xx") == asides_of("en") and spelling_of("xx") == spelling_of("en") and digits_of("xx") is None
    assert seconds_to_say("one two", "xx") == seconds_to_say("one two", "en")


SHOWN = {"missed": 0, "notice": 0, "_fault": 1, "_notice": 0, "_pass_by": 0}
"""What is shown to people in a session, by which argument."""


def notes(code: str) -> Iterator[str]:
    """Every literal that is shown as it stands."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Call) and (name := ast.unparse(node.func).split(".")[-1]) in SHOWN:
            told = node.args[SHOWN[name]] if len(node.args) > SHOWN[name] else None
            if isinstance(told, ast.JoinedStr) or (isinstance(told, ast.Constant) and told.value):
                yield ast.unparse(told)


@pytest.mark.parametrize(
    "path", sorted([*(PACKAGE / "conversation").glob("*.py"), *(PACKAGE / "rehearsal").glob("*.py")])
)
def test_no_note_of_a_session_stands_elsewhere(path: Path) -> None:
    """A session in Korean had shown in English why a reply was not taken."""
    assert list(notes(path.read_text(encoding="utf-8"))) == []


def test_a_note_would_be_found() -> None:
    assert list(notes("display.missed('too early')\nself._fault('x', f'{why}; type')")) == [
        "'too early'",
        "f'{why}; type'",
    ]


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


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_the_sentences_of_a_rehearsal_offer_is_taken(language: str) -> None:
    asides = asides_of(language)
    hint, end = asides.offered
    assert hint in asides.hints and asides.end.fullmatch(end)
    for key in ("opening", "works"):
        text = tell(language, key, title="", count=4, how="")
        assert hint in text.lower() and end in text.lower()
    assert end in tell(language, "all said").lower()
