"""Words that are in no list of words: in talk of a procedure such a word may be somebody's name."""

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from string import ascii_lowercase

from companion.record.personal.words import Token

_LISTED = Path(__file__).parent / "words.txt"
_SHORT = 2
"""Letters up to which a word is passed: an initial tells nobody, and units and abbreviations are as short."""
_ABBREVIATION = 5
"""Letters up to which capitals amid small letters are taken for an abbreviation."""
_ARTICLES = frozenset(("a", "an", "the", "this", "my", "your", "its", "some", "no", "any", "each", "every"))
"""After these stands a thing: `the kardex`."""
_BEFORE = re.compile(
    r"(?:un|re|non|pre|post|anti|hyper|hypo|immuno|over|under|micro|auto|super|inter|mis|peri|lipo|para|intra|trans|extra|"
    r"electro|bio|hydro|neuro|cardio|vaso|broncho|gastro|osteo|thrombo|haemo|hemo|pneumo|tele|multi|semi|mini|self)"
    r"(?=.....)"
)
_AFTER = re.compile(r"(?<=....)(?:s|ed|ing|less|like|able|ness|wise|ly|ify|ified|ifies|d)\Z")
_SHORTENED = frozenset(("d", "ll", "m", "re", "s", "t", "ve"))
_PRODUCTS = frozenset(
    "pen pens softpen vial vials cartridge cartridges tablet tablets capsule capsules inhaler meter "  # noqa: SIM905
    "strip strips dressing dressings".split()
)
"""Before these stands what a maker calls it."""
_PART = 4
"""Letters of each half at least where two words are written as one: `fingerstick`."""


_TO_SOMEBODY = frozenset(
    "for to by with from told tell called named ask asked and is it's its thanks hello hi met saw than near".split()  # noqa: SIM905
)
_OF_SOMEBODY = frozenset("said says asked asks told wants prefers agreed agrees had has was is nodded and".split())  # noqa: SIM905
"""Beside these a name stands even where whoever wrote it left out the capital that other words have."""
_SLIP = 7
"""Letters of a word at least in which one wrong letter is a slip: `syrnige`."""


@cache
def _lists() -> tuple[frozenset[str], frozenset[str]]:
    """All words, and those that are common in talk of procedures."""
    body = "\n".join(line for line in _LISTED.read_text(encoding="ascii").splitlines() if not line.startswith("#"))
    words, common = (frozenset(block.split()) for block in body.split("\n\n"))
    return words | common, common


def unknown(said: tuple[Token, ...]) -> list[Token]:
    """The words of a text that no list has, even taken apart, and that do not stand for a thing."""
    cased = any(token.text.islower() for token in said if token.word)
    capitals = any(token.text.istitle() and len(token.text) > 1 for token in said if token.word)
    found = []
    for at, token in enumerate(said):
        if not token.word or len(token.plain) <= _SHORT or _known(token, cased):
            continue
        before = said[at - 1].plain if at else ""
        after = said[at + 1] if at + 1 < len(said) else None
        a_measure = (
            after is not None and after.start == token.end and after.plain.isdecimal() and len(token.text) < _PART
        )
        after_it = after.plain if after is not None else ""
        small = capitals and token.text.islower() and not (before in _TO_SOMEBODY or after_it in _OF_SOMEBODY)
        a_thing = before in _ARTICLES or before.isdecimal() or after_it in _PRODUCTS or small
        if not a_measure and not a_thing:
            found.append(token)
    return found


def _known(token: Token, cased: bool) -> bool:
    if cased and token.text.isupper() and len(token.text) <= _ABBREVIATION:
        return True
    first, _, last = re.sub("\u2019", "'", token.text.lower()).partition("'")
    if last and ((last in _SHORTENED and _word(first)) or (len(first) == 1 and _word(last))):
        return True
    pieces = re.findall(r"[A-Z]?[a-z]+", token.text) if re.search(r"[a-z][A-Z]", token.text) else []
    if pieces and all(_word(piece.lower()) for piece in pieces):
        return True
    return token.plain.isascii() and (not re.search(r"[aeiouy]", token.plain) or _word(token.plain))


def _word(word: str) -> bool:
    words, common = _lists()
    if word in words or (word.endswith("in") and f"{word}g" in words):
        return True
    for shorter in (
        _BEFORE.sub("", word, count=1),
        _AFTER.sub("", word),
        _BEFORE.sub("", _AFTER.sub("", word), count=1),
    ):
        if shorter != word and (shorter in words or f"{shorter}e" in words):
            return True
    if len(word) >= _SLIP and any(each in common for each in _slips(word)):
        return True
    return any(word[:at] in words and word[at:] in words for at in range(_PART, len(word) - _PART + 1))


def _slips(word: str) -> Iterator[str]:
    """What may have been meant: two letters changed over, one missing, one too many, one for another."""
    for at in range(len(word)):
        yield word[:at] + word[at + 1 : at + 2] + word[at : at + 1] + word[at + 2 :]
        yield word[:at] + word[at + 1 :]
        for letter in ascii_lowercase:
            yield word[:at] + letter + word[at:]
            yield word[:at] + letter + word[at + 1 :]
