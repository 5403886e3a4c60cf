"""Ideas as written in a procedure file, and whether an utterance has them.

A way is a line of words, all of which must be said close together, in any order and any inflection:

    CLEAN hand|palm        one of the set CLEAN, and `hand` or `palm`
    sharps_bin             words joined by `_` must follow each other
    check label -third     not where `third` stands close by
    CLEAN hand @patient    `patient` stands close by, be it only in "before I go to the patient"
    sanit*                 any word that begins so
    hands!                 this very form
    # unit                 any number, and `unit`
    +tray meter strip      a list: what else stands among its words is part of it
    ?makes_sense           counts only where the step is due by what was said before and after
    =hands-first           every way of that step: the two are told apart by their place in the order
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

from companion.meaning.thesaurus import THESAURUS
from companion.meaning.words import STRONG, Word, stem

_NEARBY = 6
"""Words before and after a match in which those of `without` may not stand."""

_CLOSE = 5
_REACH = 9
"""Words between the first and the last of a way of two; four more for each further one."""

_WORD = r"(?:#|[^\W_]+(?:'[^\W_]+)?[*!]?)(?:_(?:#|[^\W_]+(?:'[^\W_]+)?[*!]?))*"
_GROUP = re.compile(rf"[-@]?{_WORD}(?:\|{_WORD})*")

NEGATORS = frozenset({"no", "not", "never", "without", "neither", "nor", "none", "noth"})
"""Stems."""

_PARTING = frozenset({"then", "next", "afterward", "subsequ"})
"""Stems of words that part what is done first from what is done after."""

_AUXILIARIES = frozenset(("is", "are", "was", "were", "be", "been", "has", "have", "am", "the"))
"""Before "then" they make it a word of time that parts nothing ("is then pushed in")."""

Alternative = tuple[str, ...]


_NUMBER = frozenset({("#",)})


@dataclass(frozen=True)
class Way:
    """All of `groups` within reach, none of `without` nearby."""

    written: str
    groups: tuple[frozenset[Alternative], ...]
    beside: tuple[frozenset[Alternative], ...] = ()
    """What must stand close by, and may stand in words that do not count by themselves."""
    without: frozenset[Alternative] = frozenset()
    weak: bool = False
    """It counts only where its step is due."""
    list: bool = False
    """Other ideas among its words are things named in it."""

    @cached_property
    def negates(self) -> bool:
        """It holds a negator of its own ("no bubbles"), so that one in the sentence does not take it back."""
        return any(alternative[0] in NEGATORS for group in self.groups for alternative in group)

    @cached_property
    def weight(self) -> int:
        """How much it says: its groups, a bare number not counted; 0 for a weak one."""
        return 0 if self.weak else sum(group != _NUMBER for group in (*self.groups, *self.beside))

    @property
    def reach(self) -> int:
        return (_CLOSE if self.negates else _REACH) + 4 * max(0, len(self.groups) - 2)


@dataclass(frozen=True)
class Match:
    """The words of an utterance that make a way, by their places."""

    places: frozenset[int]
    """Of the words that count."""
    beside: frozenset[int] = frozenset()
    """Of the words that had to stand close by."""
    list: bool = False

    @property
    def all(self) -> frozenset[int]:
        return self.places | self.beside

    @property
    def first(self) -> int:
        return min(self.places)

    @property
    def last(self) -> int:
        return max(self.places)


def misfit(written: str) -> str:
    """What is wrong with a way as written, in plain words; empty when nothing is."""
    if written.startswith("="):
        return "" if re.fullmatch(r"=[a-z][a-z0-9]*(-[a-z0-9]+)*", written) else "`=` is followed by the id of a step"
    pieces = written.lstrip("?+").split()
    if all(piece[0] in "-@" for piece in pieces):
        return "it names no word that must be said"
    for piece in pieces:
        for name in re.findall(r"\b[A-Z]+\b", piece):
            if name not in THESAURUS:
                return f"`{name}` is no set of words; accepted: {', '.join(sorted(THESAURUS))}"
        if not _GROUP.fullmatch(piece):
            return f"`{piece}` is not written as words joined by `|` and `_`"
    return ""


@cache
def parse_way(written: str) -> Way:
    """A way, not one that begins with `=`. Raises ValueError saying what is wrong."""
    wrong = misfit(written)
    if wrong or written.startswith("="):
        raise ValueError(f"`{written}`: {wrong or 'another step stands here'}")
    groups: list[frozenset[Alternative]] = []
    beside: list[frozenset[Alternative]] = []
    without: set[Alternative] = set()
    for piece in written.lstrip("?+").split():
        alternatives = frozenset(_alternatives(piece.lstrip("-@")))
        if piece.startswith("-"):
            without |= alternatives
        else:
            (beside if piece.startswith("@") else groups).append(alternatives)
    return Way(written, tuple(groups), tuple(beside), frozenset(without), written[0] == "?", written[0] == "+")


def _alternatives(piece: str) -> Iterator[Alternative]:
    for written in piece.split("|"):
        if written in THESAURUS:
            yield from _alternatives(THESAURUS[written])
        else:
            yield tuple(_key(word) for word in written.split("_"))


def _key(word: str) -> str:
    return word if word[-1] in "*!#" else stem(word.replace("'", ""))


def _is(key: str, word: Word) -> bool:
    if key.endswith("*"):
        return word.text.startswith(key[:-1])
    if key.endswith("!"):
        return word.text == key[:-1]
    if key == "#":
        return word.number
    return word.stem == key


def _ends(alternative: Alternative, said: Sequence[Word], place: int) -> int:
    """Place after the alternative where it begins at `place`; -1 where it does not. A small word may stand between."""
    at = place
    for number, key in enumerate(alternative):
        if number and at < len(said) and not _is(key, said[at]) and said[at].text in _SMALL:
            at += 1
        if at >= len(said) or not _is(key, said[at]):
            return -1
        at += 1
    return at


_SMALL = frozenset("a an the my your his her their our its this that it them of in on up".split())  # noqa: SIM905

Group = frozenset[Alternative]
Spot = tuple[int, tuple[int, ...]]
"""Where an alternative begins, and all the places it takes up."""


@cache
def _by_first(group: Group) -> tuple[dict[str, list[Alternative]], list[Alternative]]:
    """The alternatives by the stem they begin with, and those that begin with something else."""
    plain: dict[str, list[Alternative]] = {}
    other = []
    for alternative in group:
        if alternative[0][-1] in "*!#":
            other.append(alternative)
        else:
            plain.setdefault(alternative[0], []).append(alternative)
    return plain, other


class Told:
    """The words of an utterance, with where each group of words stands in it (looked up once)."""

    def __init__(self, said: Sequence[Word]) -> None:
        self.said = said
        self._stems = frozenset(word.stem for word in said)
        self._spots: dict[Group, list[Spot]] = {}

    def spots(self, group: Group) -> list[Spot]:
        """Where one of the alternatives stands; the longest at each place."""
        known = self._spots.get(group)
        if known is None:
            known = self._spots[group] = self._look(group)
        return known

    def _look(self, group: Group) -> list[Spot]:
        plain, other = _by_first(group)
        if not other and self._stems.isdisjoint(plain):
            return []
        spots = []
        for place, word in enumerate(self.said):
            ends = [_ends(alternative, self.said, place) for alternative in (*plain.get(word.stem, ()), *other)]
            end = max(ends, default=-1)
            if end > place:
                spots.append((place, tuple(range(place, end))))
        return spots


def find(way: Way, told: Told, void: Sequence[bool]) -> list[Match]:
    """Where a way is said: from each place of its rarest words the nearest of the others; none within another.

    `void[i]` is true where a word does not count.
    """
    spots = []
    for group in way.groups:
        counting = [spot for spot in told.spots(group) if not void[spot[0]]]
        if not counting:
            return []
        spots.append(counting)
    rarest = min(range(len(spots)), key=lambda number: len(spots[number]))
    found = []
    for spot in spots[rarest]:
        match = _grown(way, told, spots[:rarest] + spots[rarest + 1 :], spot)
        if match is not None and not _parted(told.said, match) and not _forbidden(way, told, match):
            found.append(match)
    return _tightest(found)


def _grown(way: Way, told: Told, others: list[list[Spot]], start: Spot) -> Match | None:
    """The match that begins with one spot and takes the nearest of each other group."""
    chosen = set(start[1])
    for spots in others:
        free = [spot for spot in spots if chosen.isdisjoint(spot[1])]
        if not free:
            return None
        nearest = min(free, key=lambda spot: (_apart(told.said, start[0], spot[0]), abs(spot[0] - start[0])))
        chosen.update(nearest[1])
    if max(chosen) - min(chosen) > way.reach:
        return None
    near: set[int] = set()
    low, high = min(chosen) - way.reach, max(chosen) + way.reach
    for group in way.beside:
        close = [spot for spot in told.spots(group) if chosen.isdisjoint(spot[1]) and low <= spot[0] <= high]
        if not close:
            return None
        near.update(min(close, key=lambda spot: abs(spot[0] - start[0]))[1])
    return Match(frozenset(chosen), frozenset(near), way.list)


def _apart(said: Sequence[Word], one: int, other: int) -> int:
    """How strongly two places are parted; 0 within one breath."""
    low, high = sorted((one, other))
    return sum(_breaks(said, place) for place in range(low + 1, high + 1))


def _breaks(said: Sequence[Word], place: int) -> int:
    parting = said[place].stem in _PARTING and (place == 0 or said[place - 1].text not in _AUXILIARIES)
    if said[place].gap == STRONG or parting:
        return 100
    return 3 if said[place].text == "and" else said[place].gap * 2


def _parted(said: Sequence[Word], match: Match) -> bool:
    return any(_breaks(said, place) >= 100 for place in range(match.first + 1, match.last + 1))


def _forbidden(way: Way, told: Told, match: Match) -> bool:
    """A word of `without` stands nearby, in the same breath."""
    if not way.without:
        return False
    low, high = match.first - _NEARBY, match.last + _NEARBY
    near = [place for place, _ in told.spots(way.without) if low <= place <= high]
    return any(
        _apart(told.said, place, match.first if place < match.first else match.last) < 100
        for place in near
        if not match.first <= place <= match.last
    ) or any(match.first <= place <= match.last for place in near)


def _tightest(found: list[Match]) -> list[Match]:
    kept: list[Match] = []
    for match in sorted(found, key=lambda match: (match.last - match.first, match.first)):
        if not any(match.places & other.places for other in kept):
            kept.append(match)
    return sorted(kept, key=lambda match: match.first)
