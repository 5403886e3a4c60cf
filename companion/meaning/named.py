"""Which of several things that were asked are named in what was said, and in which of its words.

The reader of meanings tells well that words agree, but not with which of two things. So what answers a thing has to
have a word of its own text, one that belongs to it alone, and the clause with that word has to say so by itself.
"""

from collections.abc import Sequence

_SHARED = 4
"""Letters that two words begin with to be of one stem: `birth` and `birthday`, `number` and `numbers`."""
_ALL = frozenset({"all", "both", "everything"})
_JOINS = frozenset({"and", "but", "though", "although", "except", "then", "plus"})
_SMALL = frozenset(
    " ".join(
        (
            "a an the of on in to and both too also as well with by is are it's that's its it they them their his her",
            "he she he's she's i i've i'm yes yeah yep ok okay all so right correct fine good same match matches agree",
            "agrees checked check checks out there here now again",
        )
    ).split()
)
_SHORT = 3
"""Words up to which a clause says nothing by itself: `name and birthday both match`."""


def named(said: Sequence[str], texts: Sequence[Sequence[str]]) -> list[str]:
    """For each text, the words of one thing asked, the clause of `said` that names it by a word of no other text, or
    nothing. A short clause goes with the one after it, or before it."""
    clauses = _clauses(said)
    found = []
    for at, text in enumerate(texts):
        others = [word for each in (*texts[:at], *texts[at + 1 :]) for word in each]
        own = [word for word in text if len(word) >= _SHARED and not _among(word, others)]
        found.append(" ".join(next((each for each in clauses if any(_among(word, own) for word in each)), ())))
    return found


def names_all(said: Sequence[str]) -> bool:
    """Whether all things asked at once are meant together."""
    return not _ALL.isdisjoint(said)


def says_no_more(said: Sequence[str], texts: Sequence[Sequence[str]]) -> bool:
    """Whether words say of the things asked that it is so, and nothing else: every word is of their text, or agrees, or
    is small."""
    known = [word for text in texts for word in text]
    return all(word in _SMALL or _among(word, known) for word in said)


def _clauses(said: Sequence[str]) -> list[list[str]]:
    clauses: list[list[str]] = [[]]
    for at, word in enumerate(said):
        if word in _JOINS and len(clauses[-1]) > _SHORT and len(said) - at > _SHORT:
            clauses.append([])
        clauses[-1].append(word)
    return clauses


def _among(word: str, words: Sequence[str]) -> bool:
    return any(word == other or (len(word) >= _SHARED and word[:_SHARED] == other[:_SHARED]) for other in words)
