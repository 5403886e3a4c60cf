"""Which steps a talk says, all of it weighed together: how surely the words say a step, and how well the order fits.

Hands are cleaned four times in one procedure, in the same words; a word in passing sounds like some other step. The
reading is sought that has the most evidence and the fewest jumps in the guided order.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from companion.meaning.evidence import Evidence, Slot, slots
from companion.meaning.mention import Mention
from companion.meaning.weights import weights as fitted

_APART = 12.0
"""Readings that far behind the best are given up."""


@dataclass(frozen=True)
class Said:
    """A step and the words that said it."""

    step: str
    mention: Mention


@dataclass(frozen=True)
class _Reading:
    score: float
    last: int
    here: int
    """Steps already taken from this utterance, up to two."""
    before: "tuple[_Reading, Evidence] | None"
    """The reading that it goes on from, and what it took."""


DICTATED = 1.0
"""Weight given to each step in an utterance that a dictation wrote, for the words it lost.

Chosen on talks of the tuning set `third` said by flite: recall 0.90 to 0.94, precision 0.98 to 0.97.
"""


def assign(mentions: Sequence[Mention], places: Mapping[str, int], dictated: Collection[int] = ()) -> list[Said]:
    """The steps said, in the order told; `places` is the guided order, `dictated` are the utterances not typed."""
    read = best(slots(mentions, places), places, weights_for(mentions), in_favour(dictated))
    return [Said(each.step, each.mention) for each in read]


def in_favour(dictated: Collection[int]) -> Callable[[Evidence], float]:
    """What is given to each evidence."""
    return lambda evidence: DICTATED if evidence.mention.heard.n in dictated else 0.0


def weights_for(mentions: Sequence[Mention]) -> Mapping[str, float]:
    """A talk that a model has read is weighed by weights of its own."""
    return fitted(any(mention.odds is not None for mention in mentions))


def best(
    rows: Sequence[Slot],
    places: Mapping[str, int],
    weights: Mapping[str, float],
    bonus: Callable[[Evidence], float] | None = None,
) -> list[Evidence]:
    """The reading of the highest sum of weights; `bonus` is added to those of each evidence."""
    move = _Moves(weights)
    readings = {(-1, 0): _Reading(0.0, -1, 0, None)}
    for slot in rows:
        grown = dict(readings)
        for evidence in slot.choices:
            place = places[evidence.step]
            score = sum(weights.get(mark, 0.0) for mark in evidence.marks) + (bonus(evidence) if bonus else 0.0)
            crowd = sum(weights.get(mark, 0.0) for mark in evidence.crowd)
            for reading in readings.values():
                here = min(2, reading.here + 1)
                total = (
                    reading.score
                    + score
                    + (crowd if reading.here else 0.0)
                    + move[reading.last, place, reading.here, evidence.grade]
                )
                if (place, here) not in grown or grown[place, here].score < total:
                    grown[place, here] = _Reading(total, place, here, (reading, evidence))
        if slot.last:
            ended: dict[tuple[int, int], _Reading] = {}
            for reading in grown.values():
                if (reading.last, 0) not in ended or ended[reading.last, 0].score < reading.score:
                    ended[reading.last, 0] = _Reading(reading.score, reading.last, 0, reading.before)
            grown = ended
        limit = max(reading.score for reading in grown.values()) - _APART
        readings = {key: reading for key, reading in grown.items() if reading.score >= limit}
    return _taken(max(readings.values(), key=lambda reading: reading.score))


class _Moves(dict[tuple[int, int, int, str], float]):
    """The weight of each move, summed once."""

    def __init__(self, weights: Mapping[str, float]) -> None:
        self._weights = weights

    def __missing__(self, key: tuple[int, int, int, str]) -> float:
        found = self[key] = sum(self._weights.get(mark, 0.0) for mark in moves(*key))
        return found


def _taken(reading: _Reading) -> list[Evidence]:
    taken = []
    while reading.before is not None:
        reading, evidence = reading.before
        taken.append(evidence)
    return taken[::-1]


@cache
def moves(last: int, place: int, here: int, grade: str) -> tuple[str, ...]:
    """The marks of a step after another one."""
    ahead = place - last
    far = "same" if ahead == 0 else f"{'on' if ahead > 0 else 'back'} {_size(abs(ahead))}"
    if here:
        return f"move {far} here", f"nth {here} {grade}"
    return f"move {far}", f"move {'on' if ahead > 0 else 'back'} {grade}"


def _size(jump: int) -> str:
    for most, name in ((1, "1"), (2, "2"), (3, "3"), (6, "6"), (10, "10"), (16, "16")):
        if jump <= most:
            return name
    return "far"
