"""One place in an utterance where words stand that may say a step."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from companion.meaning.clauses import clauses, sentences
from companion.meaning.ways import Match
from companion.meaning.words import Word
from companion.session.findings import Heard


@dataclass(frozen=True)
class Mention:
    """Words that say one of `steps`: more than one where only the place in the order can tell which."""

    steps: tuple[str, ...]
    sure: frozenset[str]
    """Those of `steps` that it says by itself; the others only where they are due."""
    weight: int
    """How many groups of words say it surely; 0 where it only may."""
    heard: Heard
    words: str
    """The words from the first to the last that count, as heard."""
    at_ms: int
    """When they began, reckoned from their place in the text."""
    place: int
    """Place of the first word in the utterance."""
    weights: Mapping[str, int] = field(default_factory=dict)
    """The same for each of `steps`."""
    covers: frozenset[int] = frozenset()
    """Places of its words in the utterance."""
    clauses: frozenset[int] = frozenset()
    """Numbers of the clauses that its words stand in."""
    length: int = 1
    """Words of the utterance."""
    taken_back: bool = False
    """Something like "no wait" follows it in the utterance, and nothing that counts after that."""
    void: str = ""
    """Why the words do not count by themselves (`rules`); empty where they do."""
    telling: str = ""
    """Of a faint one: how much its words say, and whether they say no step more."""
    faint: bool = False
    """No way is said in it, only words that few steps share."""
    odds: float | None = None
    """It is not found by its words: a model that reads the whole talk gives it these odds (`likely`)."""
    rank: tuple[int, int, int] = (0, 0, 0)
    """Where it stands in the order meant, within its utterance."""


def mention_of(steps: Mapping[str, int], heard: Heard, said: Sequence[Word], match: Match) -> Mention:
    start, end = said[match.first].start, said[match.last].end
    share = start / max(1, len(heard.text))
    at_ms = heard.at_ms + round((heard.until_ms - heard.at_ms) * share)
    sure = frozenset(step for step, weight in steps.items() if weight)
    parts = frozenset(n for n, part in enumerate(clauses(said, wide=False)) if not match.places.isdisjoint(part))
    return Mention(
        tuple(steps),
        sure,
        max(steps.values()),
        heard,
        heard.text[start:end],
        at_ms,
        match.first,
        dict(steps),
        match.all,
        parts,
        len(said),
        rank=rank_of(said, match.first, match.last),
    )


_AFTERWARDS = frozenset({"after", "having", "once"})
"""Begin a clause that tells what was done before the rest of the sentence."""


def rank_of(said: Sequence[Word], first: int, last: int | None = None) -> tuple[int, int, int]:
    """By sentence; in it what is told as done before ("..., after I ...") comes first."""
    number, sentence = next((n, part) for n, part in enumerate(sentences(said)) if first in part)
    before = any(
        said[place].text in _AFTERWARDS and place != sentence.start and (first if last is None else last) - place <= 10
        for place in range(max(sentence.start, first - 4), first + 1)
        if "that" not in (said[min(place + 1, len(said) - 1)].text,)
    )
    return number, 0 if before else 1, first
