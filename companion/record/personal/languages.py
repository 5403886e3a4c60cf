"""Words of other languages that are spoken on wards, some of which are names of people elsewhere."""

from collections.abc import Iterable
from functools import cache

from companion.record.personal.english import english
from companion.record.personal.free_text import Token
from companion.record.personal.lists import blocks

_ENOUGH = 2
"""Different words of a language, none of them English, by which talk is in that language."""
_STEM = 4
"""Letters at least that an inflected word has in common with a listed one."""
_ENDING = 3
"""Letters at most by which they differ at their ends."""


@cache
def _lists() -> tuple[frozenset[str], ...]:
    """The words of each language, and at the end those of all that are said at a bedside."""
    return tuple(map(frozenset, blocks("languages")))


def _languages() -> tuple[frozenset[str], ...]:
    return _lists()[:-1]


@cache
def _beginnings(at: int) -> frozenset[str]:
    """What the words of the language at that place begin with when their endings are taken off."""
    return frozenset(start for word in _languages()[at] for start in _starts(word))


def _starts(word: str) -> Iterable[str]:
    return (word[:length] for length in range(max(_STEM, len(word) - _ENDING), len(word) + 1))


def abroad(word: str) -> bool:
    """Whether the word is said at a bedside in one of the languages, as `tupfer` or `jeringa`."""
    return word in _lists()[-1]


def foreign(said: tuple[Token, ...]) -> frozenset[str]:
    """The words of a text that are of the language it is in, as listed; none where it is in English."""
    words = frozenset(token.plain for token in said if token.word)
    return frozenset().union(*(words & _languages()[at] for at in _spoken(words)))


def inflected(said: tuple[Token, ...]) -> frozenset[str]:
    """As `foreign`, with other endings than the listed words have, and two words written as one."""
    words = frozenset(token.plain for token in said if token.word)
    return frozenset(
        word
        for at in _spoken(words)
        for word in words
        if word in _languages()[at] or not _beginnings(at).isdisjoint(_starts(word)) or _compound(word, at)
    )


def _spoken(words: frozenset[str]) -> list[int]:
    """The places of the languages that a text with these words is in."""
    new = [word for word in words if not english(word)]
    return [
        at
        for at, language in enumerate(_languages())
        if sum(word in language or _compound(word, at) for word in new) >= _ENOUGH
    ]


def _compound(word: str, language: int) -> bool:
    """`verfallsdatum`: two listed words, with an `s` or an `n` between them."""
    listed = _languages()[language]
    return any(
        word[cut:] in listed and (word[:cut] in listed or word[: cut - 1] in listed)
        for cut in range(_STEM, len(word) - _STEM + 1)
    )
