"""Names of people in free text, by lists of names and by where a word stands."""

from functools import cache
from itertools import pairwise
from pathlib import Path

from companion.record.personal.words import Token

_LISTED = Path(__file__).parent / "names.txt"

_TITLES = frozenset(["mr", "mrs", "mx", "mister", "missus", "missis", "dr", "prof", "professor"])
_WORDS_TOO = frozenset(
    [
        "ms",
        "miss",
        "doctor",
        "nurse",
        "sister",
        "brother",
        "aunt",
        "aunty",
        "auntie",
        "uncle",
        "lady",
        "lieutenant",
        "captain",
    ]
)
"""Titles that are words as well: a name after them is one that the lists or a capital letter tell."""
_FUNCTION = frozenset(
    "a about after agrees and any are as asked asks at back before but button by called came can comes "  # noqa: SIM905
    "did does done er first for from gave goes had has have he her here him his i if in informed is it "
    "its just left may me must my next no not now of off on one or order out per please said saw says she "
    "should shows so some that the their them then there they this three to told too two uh um under up "
    "was we went were what when who will with would wrote you your".split(" ")
)
_MONTHS = frozenset(
    "january february march april may june july august september october november december".split(" ")  # noqa: SIM905
)


_PLACE = frozenset("bed bay room cubicle chair trolley cot number".split(" "))  # noqa: SIM905
_GREETED = frozenset("hello hi hiya morning afternoon evening thanks dear named called nicknamed".split(" "))  # noqa: SIM905
_PEOPLE_DO = frozenset(
    "said says asked asks told tells wants wanted prefers preferred refuses agreed agrees answered answers thinks "  # noqa: SIM905
    "likes complained complains wrote showed helped thanked".split(" ")
)
"""What a word does that is a name there: `grace said`."""
_DOERS = frozenset([*_WORDS_TOO, "doc", "kit", "over", "clear"])
"""Words that do so or own something and name nobody: `the doctor said`, `over's clear`."""
_ARTICLES = frozenset("the a an this that my your its no any each every some".split(" "))  # noqa: SIM905


@cache
def listed() -> tuple[frozenset[str], frozenset[str], frozenset[str], frozenset[str]]:
    """First names, last names, and first names and last names that are words too."""
    body = "\n".join(line for line in _LISTED.read_text(encoding="ascii").splitlines() if not line.startswith("#"))
    firsts, lasts, words, others = (frozenset(block.split()) for block in body.split("\n\n"))
    return firsts, lasts, words, others


def names_somebody(said: tuple[Token, ...]) -> bool:
    """Whether a name stands in the text. A word of English counts only where its place or its capital tells a name."""
    firsts, lasts, also, others = listed()
    words = [token for token in said if token.word]
    cased = not all(token.text.isupper() for token in words)
    prose = any(token.text.islower() for token in words)
    for at, token in enumerate(said):
        if not token.word:
            continue
        if token.plain in firsts or token.plain in lasts:
            return True
        if token.plain in _FUNCTION or token.plain in _MONTHS or len(token.plain) < 2:
            continue
        capital = cased and token.text.istitle() and token.text.isalpha()
        if _titled(said, at, capital):
            return True
        if token.plain not in also and token.plain not in others:
            continue
        if capital and prose and not token.opens and said[at - 1].plain not in _ARTICLES:
            return True
        if _introduced(said, at) or (token.plain in also and _does(said, at)):
            return True
    return cased and any(_first_and_last(one, two, also) for one, two in pairwise(said))


def _titled(said: tuple[Token, ...], at: int, likely: bool) -> bool:
    """`mr quill`, and `nurse Quill` where it is `likely` a name."""
    before = [token.plain for token in said[max(0, at - 3) : at] if token.text != "."]
    if not before:
        return False
    if before[-1] == "ms" and not before[0].isdecimal():
        return True
    return before[-1] in _TITLES or (before[-1] in _WORDS_TOO and likely)


def _introduced(said: tuple[Token, ...], at: int) -> bool:
    """`the name is grace`, `bed four is grace`, `hello grace`."""
    if said[at].plain in _DOERS:
        return False
    before = [token.plain for token in said[max(0, at - 4) : at]]
    if before[-2:] in (["name", "is"], ["name", ":"]):
        return True
    if before[-1:] == ["is"] and before[-3:-2] and before[-3] in _PLACE:
        return True
    return before[-1:] == ["names"] or (bool(before) and before[-1] in _GREETED)


def _does(said: tuple[Token, ...], at: int) -> bool:
    """`grace said it stings`, `grace's drip`: not after an article."""
    if said[at].plain in _DOERS or (at and said[at - 1].plain in _ARTICLES):
        return False
    following = said[at + 1].plain if at + 1 < len(said) else ""
    owns = said[at].text.lower().endswith(("'s", "\u2019s")) and following not in _FUNCTION
    return owns or following in _PEOPLE_DO


def _first_and_last(one: Token, two: Token, also: frozenset[str]) -> bool:
    """`Mark Quill`, also at the beginning of a sentence."""
    if one.plain not in also or two.plain in _FUNCTION or not two.word:
        return False
    return one.text.istitle() and two.text.istitle() and one.plain not in _MONTHS and two.plain not in _MONTHS
