"""Words that are in no list of words: in talk of a procedure such a word may be somebody's name."""

import re

from companion.record.personal.english import made_of_english
from companion.record.personal.free_text import Token
from companion.record.personal.languages import abroad, inflected
from companion.record.personal.lists import sign
from companion.record.personal.looks import looks
from companion.record.personal.names import (
    PEOPLE_DO,
    is_in_a_place,
    is_somebody,
    next_to,
    thing_of_the_trade,
    titled,
)

_SHORT = 2
"""Letters up to which a word is passed: an initial tells nobody, and units and abbreviations are as short."""
_ABBREVIATION = 5
"""Letters up to which capitals amid small letters are taken for an abbreviation."""
_UNIT = 3
"""Letters up to which a word that a figure follows at once is a measure or a part: `c920`."""
_ARTICLES = sign("articles") - {"that"}
"""After these stands a thing: `the kardex`."""
_TO_SOMEBODY = sign("to-somebody")
_OF_SOMEBODY = sign("of-somebody")
_SHORTENED = sign("shortened")
_PRODUCTS = sign("products")
_SOMEBODY = sign("somebody")
_TOWARDS = sign("towards")
_WITH = sign("with")
_DOES = PEOPLE_DO | sign("does")
_LOOKS, _LOOKS_BESIDE_A_SIGN = 0.3, 2.5
"""How much a word must look like any other word to be passed, in talk in general and beside a sign of a person; how
many names and words do so is told in `tests/bench/privacy_looks.py`."""
_DONE_TO_THINGS = sign("done-to-things")
_ABOUT_THINGS = sign("about-things")
_CLEANED = sign("cleaned")
_WHERE = sign("where")


def unknown(said: tuple[Token, ...]) -> list[Token]:
    """The words of a text that no list has, even taken apart, and that do not stand for a thing."""
    cased = any(token.text.islower() for token in said if token.word)
    capitals = any(token.text.istitle() and len(token.text) > 1 for token in said if token.word)
    elsewhere = inflected(said)
    strange = [
        at
        for at, token in enumerate(said)
        if token.word and len(token.plain) > _SHORT and not _known(token, cased) and not thing_of_the_trade(said, at)
    ]
    return [
        said[at]
        for at in strange
        if titled(said, at)
        or not (
            said[at].plain in elsewhere
            or _a_thing(said, at)
            or _small_amid_capitals(said, at, capitals)
            or looks(said[at].plain) > (_LOOKS_BESIDE_A_SIGN if _a_person(said, at, cased) else _LOOKS)
        )
    ]


def _a_person(said: tuple[Token, ...], at: int, cased: bool) -> bool:
    """Whether the word stands where a name would: with a capital amid small letters, alone between two signs, told to,
    doing something, owning something, or in a bed."""
    token, before, after = said[at], next_to(said, at, -1), next_to(said, at)
    ends = _stops(said, at + 1)
    if not token.plain.isascii() or (_stops(said, at - 1) and ends):
        return True
    if cased and token.text[0].isupper() and not token.opens:
        return True
    if (
        token.text.lower().endswith(("'s", "\u2019s"))
        or before in _SOMEBODY
        or after in _DOES
        or is_in_a_place(said, at)
    ):
        return True
    if (before in _TOWARDS and ends) or (before == "with" and next_to(said, at, -2) in _WITH):
        return True
    return (after in ("is", "was") and is_somebody(said, at)) or (
        after == "and" and next_to(said, at, 2) in ("i", "me")
    )


def _small_amid_capitals(said: tuple[Token, ...], at: int, capitals: bool) -> bool:
    """No name, unless a name would stand there: whoever wrote it gives other words their capital."""
    told = next_to(said, at, -1) in _TO_SOMEBODY or next_to(said, at) in _OF_SOMEBODY
    return capitals and said[at].text.islower() and not told


def _a_thing(said: tuple[Token, ...], at: int) -> bool:
    """`the kardex`, `16 foo`, `rapidin pen`, `c920`, `wiped with wipolin`, `glargine is clear`, `tubelet out`."""
    before, after, then = next_to(said, at, -1), next_to(said, at), next_to(said, at, 2)
    if after.isdecimal() and said[at + 1].start == said[at].end and len(said[at].text) <= _UNIT:
        return True
    if before in _ARTICLES or before.isdecimal() or after in _PRODUCTS:
        return True
    if is_in_a_place(said, at) or said[at].text.lower().endswith(("'s", "\u2019s")):
        return False
    if before in _DONE_TO_THINGS or (before == "with" and next_to(said, at, -2) in _CLEANED | _DONE_TO_THINGS):
        return True
    if before in _ABOUT_THINGS and after not in PEOPLE_DO:
        return True
    if after in ("is", "was", "isnt", "wasnt", "are") and _stops(said, at - 1):
        return not is_somebody(said, at)
    return (after in _WHERE or after in _DONE_TO_THINGS) and (_stops(said, at + 2) or then == "and")


def _stops(said: tuple[Token, ...], at: int) -> bool:
    """Whether what is said begins or ends there."""
    return not 0 <= at < len(said) or not (said[at].word or said[at].plain.isdecimal() or said[at].text in "-'")


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
    return made_of_english(word) or abroad(word)
