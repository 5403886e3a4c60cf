"""Decoys: near misses of the allowed phrases, recognised only so that they can be refused.

A recogniser that knows only "gloves on" hears "gloves off" as "gloves on", for want of anything nearer. Given the near
miss as well it hears the near miss, and nothing happens. This file is the mechanism; what is near to what in a language
is a table beside it. A language without a table has no decoys.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import zip_longest

from companion.hearing.decoy_tables import DecoyTable, table_for
from companion.hearing.phone_distance import same_sound
from companion.hearing.pronunciation import phonemes

FEW, MANY = 6, 2
"""Decoys a phrase has at most, in a small set and in one of more than `LARGE` phrases."""
LARGE = 60
MOST = 400
"""Decoys in all, fillers apart, so that a set of a thousand spoken numbers stays quick."""

Knows = Callable[[Iterable[str]], tuple[str, ...]]
"""`Recogniser.unknown_words`: the words it cannot hear."""


def decoys_for(
    phrases: Sequence[str], language: str = "en-US", unknown_words: Knows | None = None, fillers: bool = True
) -> tuple[str, ...]:
    """Near misses of `phrases`, the likeliest first, then short filler talk; never one that sounds like its phrase.

    `language` is a BCP 47 tag; its first part chooses the table. Decoys with words in `unknown_words` are left out.
    The same phrases always give the same decoys.
    """
    made = _made(tuple(phrases), language.split("-", maxsplit=1)[0].lower(), fillers)
    if unknown_words is None or not made:
        return made
    deaf = set(unknown_words(made))
    return tuple(decoy for decoy in made if deaf.isdisjoint(decoy.split()))


@lru_cache(maxsize=256)
def _made(phrases: tuple[str, ...], language: str, fillers: bool) -> tuple[str, ...]:
    table = table_for(language)
    if table is None:
        return ()
    allowed = set(phrases)
    share = FEW if len(phrases) <= LARGE else MANY
    rows: list[list[str]] = []
    for phrase in phrases:
        fresh = dict.fromkeys(
            near
            for near in near_misses(phrase, table)
            if near not in allowed and not _sounds_alike(near, phrase) and not _is_two_of(near, allowed)
        )
        rows.append(list(fresh)[:share])
    ranked = (near for rank in zip_longest(*rows) for near in rank if near is not None)
    found = list(dict.fromkeys(ranked))[:MOST]
    if fillers:
        found += [filler for filler in table.fillers if not any(same_sound(filler, phrase) for phrase in phrases)]
    return tuple(dict.fromkeys(found))


def _sounds_alike(one: str, other: str) -> bool:
    """Whether two phrases are told apart by spelling alone ("no", "know"): such a decoy would refuse the phrase."""
    ours, theirs = one.split(), other.split()
    return len(ours) == len(theirs) and all(
        a == b or not set(phonemes(a)).isdisjoint(phonemes(b)) for a, b in zip(ours, theirs, strict=True)
    )


def _is_two_of(near: str, allowed: set[str]) -> bool:
    """True for one allowed phrase after another, such as "no help", which would steal both."""
    words = near.split()
    return any(" ".join(words[:cut]) in allowed and " ".join(words[cut:]) in allowed for cut in range(1, len(words)))


def near_misses(phrase: str, table: DecoyTable) -> Iterator[str]:
    """What could be taken for `phrase`, worst first: the opposite, the denial, the part, the sound-alike."""
    words = phrase.split()
    opposites = [list(_swapped(words, table.opposites)), list(_denied(words, table))]
    sounds = list(_swapped(words, table.sounds))
    parts = list(_parts(words, table))
    for rank in zip_longest(*opposites, sounds, parts):
        yield from (near for near in rank if near is not None)


def _swapped(words: list[str], swaps: dict[str, tuple[str, ...]]) -> Iterator[str]:
    """Each word in turn, from the last, changed for one it is mistaken for."""
    choices = [(place, swaps[words[place]]) for place in reversed(range(len(words))) if words[place] in swaps]
    longest = max((len(others) for _, others in choices), default=0)
    for turn in range(longest):
        for place, others in choices:
            if turn < len(others):
                yield " ".join((*words[:place], *others[turn].split(), *words[place + 1 :]))


def _denied(words: list[str], table: DecoyTable) -> Iterator[str]:
    """The phrase taken back, in the ways people do."""
    phrase = " ".join(words)
    if table.denials.isdisjoint(words):
        if len(words) > 1:
            yield " ".join((*words[:-1], table.not_, words[-1]))
        else:
            yield f"{table.not_} {phrase}"
        for pattern in table.denied_patterns:
            yield pattern.format(phrase)
    else:
        kept = [word for word in words if word not in table.denials]
        if kept:
            yield " ".join(kept)


def _parts(words: list[str], table: DecoyTable) -> Iterator[str]:
    """The phrase without its last word, or without its first, where that still is something said.

    A light word at the beginning is often swallowed and not missed, so the rest of the phrase is no decoy.
    """
    parts = [words[:-1]] if words[0] in table.light else [words[:-1], words[1:]]
    for part in parts:
        if any(word not in table.light for word in part):
            yield " ".join(part)
