"""Names of people in free text, by lists of names and by where a word stands."""

from functools import cache
from itertools import pairwise
from typing import NamedTuple

from companion.record.personal.free_text import Token
from companion.record.personal.languages import foreign
from companion.record.personal.lists import blocks, sign

_TITLES = sign("titles")
_ABROAD = sign("abroad")
_CALLED_ABROAD = sign("called-abroad")
_WORDS_TOO = sign("words-too")
_FUNCTION = sign("function")
_MONTHS = sign("months")
_PLACE = sign("place")
_GREETED = sign("greeted")
_ENDEARED = sign("endeared")
PEOPLE_DO = sign("people-do")
_SOONER_DO = PEOPLE_DO | sign("sooner-do")
_STATES = sign("states")
_ROLES = sign("roles")
_DOERS = frozenset([*_WORDS_TOO, "doc", "kit", "over", "clear"])
"""Words that do so or own something and name nobody: `the doctor said`, `over's clear`."""
_PLACES = sign("places")
_HANDED = sign("handed")
_VIRTUES = sign("virtues")
_ARTICLES = sign("articles")
_SPOKEN_TO = sign("spoken-to")
_PARTICLES = sign("particles")
_EPONYMS = sign("eponyms")
_NAMED_AFTER = sign("named-after")


class _Listed(NamedTuple):
    """First names and last names that are no words; first names that are words too, in two parts, and last names."""

    firsts: frozenset[str]
    lasts: frozenset[str]
    sooner: frozenset[str]
    seldom: frozenset[str]
    others: frozenset[str]


@cache
def listed() -> _Listed:
    return _Listed(*map(frozenset, blocks("names")))


def names_somebody(said: tuple[Token, ...]) -> bool:
    """Whether a name stands in the text. A word of English counts only where its place or its capital tells a name, the
    sooner the more often it is a name; a word of another language of the wards only in talk of that language."""
    firsts, lasts, sooner, seldom, others = listed()
    also = sooner | seldom
    abroad = foreign(said)
    words = [token for token in said if token.word]
    cased = not all(token.text.isupper() for token in words)
    prose = any(token.text.islower() for token in words)
    for at, token in enumerate(said):
        if not token.word:
            continue
        capital = cased and token.text.istitle() and token.text.isalpha()
        if token.plain in firsts or token.plain in lasts:
            a_thing = token.plain in abroad or thing_of_the_trade(said, at)
            if titled(said, at) or not (a_thing or (token.plain in lasts and _after_article(said, at))):
                return True
            continue
        if token.plain in ("april", "june") and (next_to(said, at) in PEOPLE_DO or _has_done(said, at)):
            return True
        if token.plain in _FUNCTION or token.plain in _MONTHS or len(token.plain) < 2 or token.plain in abroad:
            continue
        if next_to(said, at, -1) in _CALLED_ABROAD:
            return True
        if _titled(said, at, capital):
            return True
        if (token.plain not in also and token.plain not in others) or thing_of_the_trade(said, at):
            continue
        if capital and prose and _capital_tells(said, at, token.plain in sooner):
            return True
        if _introduced(said, at) or (token.plain in also and _does(said, at)):
            return True
        if token.plain in sooner and (
            (_begins(said, at) and is_in_a_place(said, at)) or _is_told(said, at) or _is_or_has(said, at)
        ):
            return True
    return cased and any(_first_and_last(one, two, also) for one, two in pairwise(said))


def next_to(said: tuple[Token, ...], at: int, step: int = 1) -> str:
    """The word or sign so many places behind, or before where `step` is negative; empty where there is none."""
    return said[at + step].plain if 0 <= at + step < len(said) else ""


def _after_article(said: tuple[Token, ...], at: int) -> bool:
    """`the groshong is clamped`: what is written small and owns nothing."""
    return next_to(said, at, -1) in ("a", "an", "the") and said[at].text.islower() and not said[at].text.endswith("s")


def titled(said: tuple[Token, ...], at: int) -> bool:
    """Whether a title of any kind stands before the word: `frau kurz`."""
    before = [token.plain for token in said[max(0, at - 2) : at] if token.text != "."]
    return bool(before) and before[-1] in _TITLES | _WORDS_TOO | _ABROAD


def thing_of_the_trade(said: tuple[Token, ...], at: int) -> bool:
    """`huber needle`, `christian name`, `12 jan`: no person's."""
    word, following = said[at].plain, next_to(said, at)
    if word in _EPONYMS:
        return following in _NAMED_AFTER or (following in _EPONYMS and next_to(said, at, 2) in _NAMED_AFTER)
    if following in ("wing", "ward", "block", "campus"):
        return next_to(said, at, -1) not in _SPOKEN_TO
    if word == "jesus":
        return said[at].opens and following in (",", "it", "that", "thats", "the", "this", "what")
    if word == "jan":
        return following.isdecimal() or next_to(said, at, -1).isdecimal()
    return word == "christian" and following in ("name", "names")


def _titled(said: tuple[Token, ...], at: int, likely: bool) -> bool:
    """`mr quill`, and `nurse Quill` where it is `likely` a name, and `nurse hope has the keys`."""
    before = [token.plain for token in said[max(0, at - 3) : at] if token.text != "."]
    if not before:
        return False
    if before[-1] == "ms" and not before[0].isdecimal():
        return True
    if before[-1] in _TITLES:
        return True
    _, _, sooner, _, others = listed()
    does = said[at].plain in sooner | others and next_to(said, at) in _SOONER_DO | {"is", "was", "will"}
    return before[-1] in _WORDS_TOO and (likely or does or (said[at].plain in _PARTICLES and next_to(said, at) != ""))


def _capital_tells(said: tuple[Token, ...], at: int, sooner: bool) -> bool:
    """`told Grace`: not where a sentence begins nor after an article, and `Ward three` or `Green needle` only where
    somebody is spoken to or does something."""
    before, following = next_to(said, at, -1), next_to(said, at)
    if said[at].opens or before in _ARTICLES or before in ("group", "team", "ward", "wing"):
        return False
    return sooner or before in _SPOKEN_TO or following in PEOPLE_DO or next_to(said, at, -1) == ","


def _introduced(said: tuple[Token, ...], at: int) -> bool:
    """`the name is grace`, `bed four is grace`, `hello grace`."""
    if said[at].plain in _DOERS:
        return False
    before = [token.plain for token in said[max(0, at - 4) : at]]
    if before[-2:] in (["name", "is"], ["name", ":"]) or (
        before[-1:] == ["name"] and said[at].plain in listed().sooner
    ):
        return True
    if before[-1:] == ["is"] and before[-3:-2] and before[-3] in _PLACE:
        return True
    if said[at].plain in listed().sooner and (before[-2:] == ["this", "is"] or before[-1:] == ["its"]):
        return (
            not said[at + 1 : at + 2]
            or not said[at + 1].word
            or next_to(said, at) in ("she", "he", "and", "from", "who")
        )
    if said[at].plain in _ENDEARED:
        return False
    return before[-1:] == ["names"] or (bool(before) and before[-1] in _GREETED)


def _does(said: tuple[Token, ...], at: int) -> bool:
    """`grace said it stings`, `grace's drip`: not after an article."""
    if said[at].plain in _DOERS or (at and next_to(said, at, -1) in _ARTICLES):
        return False
    following, mine = next_to(said, at), said[at].plain in listed().sooner
    owns = mine and said[at].text.lower().endswith(("'s", "\u2019s")) and following not in _FUNCTION
    return owns or following in PEOPLE_DO


def is_in_a_place(said: tuple[Token, ...], at: int) -> bool:
    """`grace in bed three`, `ivy brown in bay four`, `sue from pharmacy`: where somebody is."""
    step = 2 if next_to(said, at) in listed().others else 1
    return next_to(said, at, step) in ("in", "from", "at") and next_to(said, at, step + 1) in _PLACE | _PLACES


def _is_told(said: tuple[Token, ...], at: int) -> bool:
    """`i gave it to jack`, `the pen is for grace`, `tell hope to wait`; but `ready to chase`, `for comfort`."""
    before, two = next_to(said, at, -1), next_to(said, at, -2)
    if before in ("told", "tell", "asked", "thanked") or (before == "to" and two in _HANDED):
        return True
    ends = at + 1 == len(said) or not said[at + 1].word
    return before in ("for", "with", "by", "from") and ends and said[at].plain not in _VIRTUES


def _has_done(said: tuple[Token, ...], at: int) -> bool:
    """`june has refused again`."""
    return next_to(said, at) in ("has", "had") and next_to(said, at, 2) in (
        "refused",
        "eaten",
        "had",
        "gone",
        "asked",
        "been",
    )


def _begins(said: tuple[Token, ...], at: int) -> bool:
    before = next_to(said, at, -1)
    return said[at].opens or before in _SPOKEN_TO or before in (",", "so", "then", "okay", "but")


def _is_or_has(said: tuple[Token, ...], at: int) -> bool:
    """`grace has eaten`, `carol and i checked`, `rob is asleep`: where a sentence begins, or after `and` or `told`."""
    if not _begins(said, at):
        return False
    following = next_to(said, at)
    if following in _SOONER_DO or (following == "and" and next_to(said, at, 2) in ("i", "me")):
        return True
    if following not in ("is", "was", "isnt", "wasnt"):
        return False
    return is_somebody(said, at)


def is_somebody(said: tuple[Token, ...], at: int) -> bool:
    """`rob is asleep`, `rob is the second checker`, `rob is in the chair`."""
    told = [token.plain for token in said[at + 2 : at + 6]]
    in_a_place = told[:1] in (["in"], ["at"], ["on"]) and bool(_PLACE.intersection(told))
    return in_a_place or bool(_STATES.intersection(told)) or bool(_ROLES.intersection(told))


def _first_and_last(one: Token, two: Token, also: frozenset[str]) -> bool:
    """`Mark Quill`, also at the beginning of a sentence."""
    if one.plain not in also or two.plain in _FUNCTION or not two.word:
        return False
    return one.text.istitle() and two.text.istitle() and one.plain not in _MONTHS and two.plain not in _MONTHS
