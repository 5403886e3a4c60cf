"""Figures, choices and lengths of time in free speech, where a step expects them."""

import re
from collections.abc import Iterator
from decimal import Decimal

from companion.meaning.words import Word, words
from companion.speech.numbers import NumberError, parse_number, plain
from companion.speech.values import ChoiceValue, NumberValue, ValueSpec

_SECONDS = {"second": 1, "sec": 1, "minut": 60, "min": 60, "hour": 3600}
_LONGEST_RUN = 8


def numbers_in(text: str) -> Iterator[tuple[Decimal, int]]:
    """Each number said or written and the place of the word after it; the longest reading at each place.

    Not the finder of `speech.running`, which takes a value or leaves it: here the last figure is told back as what was
    said, so a stretch of number words is read as several rather than as none.
    """
    said = words(text)
    place = 0
    while place < len(said):
        found = _number_at(said, place)
        if found is None:
            place += 1
        else:
            yield found
            place = found[1]


def _number_at(said: tuple[Word, ...], place: int) -> tuple[Decimal, int] | None:
    first = said[place].text
    if re.fullmatch(r"\d+(?:\.\d+)?", first):
        return Decimal(first), place + 1
    if not said[place].number:
        return None
    for end in range(min(len(said), place + _LONGEST_RUN), place, -1):
        try:
            return parse_number(" ".join(word.text for word in said[place:end])), end
        except NumberError:
            continue
    return None


def value_in(spec: ValueSpec, text: str) -> str | None:
    """The last value of its kind in the text (what is said last puts right what was said before), or None.

    Numbers as plain decimals, choices as the file writes them. Dates, times and tags are not looked for.
    """
    if isinstance(spec, NumberValue):
        found = [plain(number) for number, _ in numbers_in(text)]
        return found[-1] if found else None
    if isinstance(spec, ChoiceValue):
        spoken = " ".join(word.text for word in words(text))
        places = {choice: spoken.rfind(choice.lower()) for choice in spec.choices}
        best = max(places, key=lambda choice: (places[choice], len(choice)))
        return best if places[best] >= 0 else None
    return None


def seconds_in(text: str) -> int | None:
    """The longest length of time said, in whole seconds ("half a minute" is 30), or None."""
    said = words(text)
    found = []
    for number, end in numbers_in(text):
        unit = _SECONDS.get(said[end].stem) if end < len(said) else None
        if unit is not None:
            found.append(int(number * unit))
    spoken = " ".join(word.text for word in said)
    found += [30] if re.search(r"\bhalf (?:a |of a )?minute\b", spoken) else []
    found += [60] if re.search(r"(?<!half )(?<!of )\b(?:a|one|the) (?:full |whole )?minute\b", spoken) else []
    return max(found, default=None)
