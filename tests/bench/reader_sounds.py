"""Words that a dictation may write for others: those whose sounds differ by one at most, after CMUdict."""

import random
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

import pocketsphinx

DICTIONARY = Path(pocketsphinx.__file__).parent / "model" / "en-us" / "cmudict-en-us.dict"
OFTEN = 0.12
"""Share of the words that have such others which are replaced."""

_Sounds = tuple[str, ...]


class Alike:
    """`written` are the words that may be replaced, `others` those that may stand for them."""

    def __init__(self, written: Iterable[str], others: Iterable[str]) -> None:
        wanted = set(written)
        known = wanted | set(others)
        sounds: dict[str, set[_Sounds]] = defaultdict(set)
        for line in DICTIONARY.read_text(encoding="utf-8").splitlines():
            word, *phones = line.split()
            word = re.sub(r"\(\d+\)$", "", word)
            if word in known and len(phones) > 1:
                sounds[word].add(tuple(phones))
        place: dict[_Sounds, set[str]] = defaultdict(set)
        for word, each in sounds.items():
            for key in (key for phones in each for key in _near(phones)):
                place[key].add(word)
        self._others = {
            word: sorted(set().union(*(place[key] for phones in sounds[word] for key in _near(phones))) - {word})
            for word in sorted(wanted & sounds.keys())
        }

    def misheard(self, text: str, chance: random.Random) -> str:
        def other(match: re.Match[str]) -> str:
            found = self._others.get(match.group().lower())
            return chance.choice(found) if found and chance.random() < OFTEN else match.group()

        return re.sub(r"[A-Za-z]+", other, text)


def _near(phones: _Sounds) -> Iterator[_Sounds]:
    """Keys that two words share where one sound is another, or is lost."""
    yield phones
    for n in range(len(phones)):
        yield (*phones[:n], "*", *phones[n + 1 :])
        if len(phones) > 2:
            yield (*phones[:n], *phones[n + 1 :])
