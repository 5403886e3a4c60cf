"""Figures among running words, none of them guessed: numbers in words, each with the unit said after it."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from companion.speech.numbers import SMALL, NumberError, is_number_word, parse_number
from companion.speech.units import unit_called

_INSIDE = frozenset({"and", "point", "hundred", "thousand", "oh", "half", "a", "quarter"})
_LONGEST_UNIT = 4
"""Words of the longest name of a unit."""


def figures(words: Sequence[str]) -> Iterator[tuple[Decimal, str]]:
    """Every number among words, with the unit that follows it as the table of units writes it, or nothing.

    A stretch of number words that is not surely one number is none at all.
    """
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and (is_number_word(words[end]) or (end > at and words[end] in _INSIDE)):
            end += 1
        if end == at:
            at += 1
            continue
        stretch = list(words[at:end])
        while stretch and stretch[-1] in ("and", "a", "point"):
            stretch.pop()
        while stretch and stretch[0] == "a" and len(stretch) > 1 and stretch[1] not in ("hundred", "thousand", "half"):
            stretch.pop(0)
        number = _number(stretch)
        if number is not None:
            yield number, _unit_at(words, at + len(stretch))
        at = end


def _number(said: list[str]) -> Decimal | None:
    worth = [SMALL.get(word, 0) for word in said]
    match worth:  # `one seventy two`: how three figures are said of a glucose or a weight
        case [hundreds, tens] if 0 < hundreds < 10 <= tens:
            return Decimal(100 * hundreds + tens)
        case [hundreds, tens, ones] if 0 < hundreds < 10 and tens >= 20 and 0 < ones < 10:
            return Decimal(100 * hundreds + tens + ones)
    try:
        return parse_number(" ".join(said))
    except NumberError:
        return None


def _unit_at(words: Sequence[str], at: int) -> str:
    """The unit in words from a place on, the longest that is one."""
    for start in (at, at + 1) if words[at : at + 1] in (["of"], ["a"]) else (at,):
        for end in range(min(len(words), start + _LONGEST_UNIT), start, -1):
            if unit := unit_called(" ".join(words[start:end])):
                return unit
    return ""
