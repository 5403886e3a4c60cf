"""What words two wordings have in common, and what one says more than another."""

import re
from collections import Counter
from functools import lru_cache

from companion.hearing.decoy_tables import ENGLISH
from companion.hearing.scorer.variants import is_number


def words_in(written: str) -> list[str]:
    """Words and figures of a written text, in small letters."""
    return re.findall(r"[^\W_]+(?:'[^\W_]+)*", written.lower())


def more_said(words: list[str], among: list[str]) -> bool:
    """True when all of `words` stand in `among` in their order, with others that could mean something else."""
    rest = iter(among)
    if not all(word in rest for word in words):
        return False
    more = Counter(among) - Counter(words)
    return not ENGLISH.openers.issuperset(more)


@lru_cache(maxsize=64)
def parts_of(phrases: tuple[str, ...]) -> frozenset[str]:
    """Beginnings and ends of the phrases, unless what they leave out turns their meaning round.

    Neither these nor idle talk need a decoy here: free writing stands for them, and in noise a decoy that is shorter
    than the phrase would win by being short.
    """
    parts: set[str] = set()
    for phrase in phrases:
        words = phrase.split(" ")
        for at in range(1, len(words)):
            for kept, left in ((words[:at], words[at:]), (words[at:], words[:at])):
                if ENGLISH.denials.isdisjoint(left) and not any(is_number(word) for word in left):
                    parts.add(" ".join(kept))
    return frozenset(parts)


def share_words(decoy: str, phrases: tuple[str, ...]) -> bool:
    """True when the decoy is more than idle talk: it has a word of an allowed phrase in it."""
    return not set(decoy.split(" ")).isdisjoint(word for phrase in phrases for word in phrase.split(" "))
