"""Words that are in no list of words: in talk of a procedure such a word may be somebody's name."""

import re

from companion.record.personal.english import made_of_english
from companion.record.personal.languages import abroad, inflected
from companion.record.personal.looks import looks
from companion.record.personal.names import (
    PEOPLE_DO,
    is_in_a_place,
    is_somebody,
    next_to,
    thing_of_the_trade,
    titled,
)
from companion.record.personal.tokens import Token

_SHORT = 2
"""Letters up to which a word is passed: an initial tells nobody, and units and abbreviations are as short."""
_ABBREVIATION = 5
"""Letters up to which capitals amid small letters are taken for an abbreviation."""
_UNIT = 3
"""Letters up to which a word that a figure follows at once is a measure or a part: `c920`."""
_ARTICLES = frozenset(("a", "an", "the", "this", "my", "your", "its", "some", "no", "any", "each", "every"))
"""After these stands a thing: `the kardex`."""
_TO_SOMEBODY = frozenset(
    "for to by with from told tell called named ask asked and is it's its thanks hello hi met saw than near".split()  # noqa: SIM905
)
_OF_SOMEBODY = frozenset("said says asked asks told wants prefers agreed agrees had has was is nodded and".split())  # noqa: SIM905
"""Beside these a name stands even where whoever wrote it left out the capital that other words have."""
_SHORTENED = frozenset(("d", "ll", "m", "re", "s", "t", "ve"))
_PRODUCTS = frozenset(
    "pen pens softpen vial vials cartridge cartridges tablet tablets capsule capsules inhaler meter strip "  # noqa: SIM905
    "strips dressing dressings alarm ampoule ampoules ampule bag bags bandage border box cap caps clamp "
    "connector device drain drip film flush foam forceps gel glove gloves injection infusion kit landmark "
    "needle needles pack pad patch plaster port powder pump reader reading results score scale screen sensor "
    "set sheet solution spray suction swab swabs syringe syringes tape test tube tubes tubing vaccine valve "
    "wand window wipe wipes".split()
)
"""Before these stands what a maker calls it."""
_SOMEBODY = frozenset(
    "ask asked asking call called fetch found gave give gives greeted hello help helped hi let lets lifted "  # noqa: SIM905
    "met moved named nurse page paged patient remind reminded rang ring saw see showed sister student taught "
    "tell telling thank thanked thanks this told turned uncle auntie aunty watch watched woke doctor brother "
    "dear morning afternoon evening name names initials colleague friend mate learner candidate peer who says "
    "am maam madam sir sorry ok".split()
)
"""Before a name; `told begum to wait`."""
_TOWARDS = frozenset("for to by from than near beside of it's its is that's and with".split())  # noqa: SIM905
"""Before a name that ends what is said: `this one is for jerwin`."""
_WITH = frozenset(
    "checked counted spoke talked agreed sat stayed went signed double along swapped paired chat chatted".split()  # noqa: SIM905
)
"""Before `with` and a name."""
_DOES = PEOPLE_DO | frozenset(
    "had has nodded will can cant did didnt does doesnt wont smiled laughed cried coughed vomited ate drank "  # noqa: SIM905
    "slept passed failed forgot struggled managed held stood sat walked left arrived keeps kept knows knew "
    "thought both also who whose still needs feels signed checked countersigned witnessed counted".split()
)
"""Behind a name; `przemek had breakfast`."""
_LOOKS, _LOOKS_BESIDE_A_SIGN = 0.3, 2.5
"""How much a word must look like any other word to be passed, in talk in general and beside a sign of a person; how
many names and words do so is told in `tests/bench/privacy_looks.py`."""
_DONE_TO_THINGS = frozenset(
    "apply applied attach attached change changed charted clamp clamped connect connected disconnected docked "  # noqa: SIM905
    "draw drew draws expired flush flushed give given hang hung infused infusing mix mixed open opened "
    "prescribed prime primed remove removed roll rolled running scrub scrubbed shake shaken spike spiked "
    "squeeze start started stop stopped switch switched tape taped use used uses using warmed wear wipe wiped "
    "wrote".split()
)
"""What is done to a thing, and to nobody."""
_ABOUT_THINGS = frozenset(
    "in into on onto over under through via without between per versus old new second first".split()  # noqa: SIM905
)
"""Before a thing: `toast, then sugar gel in tea`."""
_CLEANED = frozenset(
    "clean cleaned cleanse cleansed cover covered dressed disinfect disinfected fix fixed off seal sealed "  # noqa: SIM905
    "secured".split()
)
"""Before `with` and a thing, as what is done to things is too."""
_WHERE = frozenset("off on out in down up away empty full".split())  # noqa: SIM905
"""Where or how a thing is, at the end of what is said: `tubelet out, tip whole`."""


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
