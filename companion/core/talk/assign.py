"""Which step each mention meant, where the same words serve several: told by what was said around it.

Hands are cleaned four times in one procedure, in the same words. The reading is sought in which what was said follows
the guided order with the fewest jumps and no step is said twice without need.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from companion.core.talk.mentions import Mention

_KEPT = 40
_BACK, _SKIP, _LONGEST = 0.9, 0.12, 10
"""Cost of going back, and of each step passed over in going forward, up to so many."""
_AGAIN, _STILL = 1.3, 0.1
"""Cost of a step said once more, at some other time and just after it was said."""


_DROPPED, _EACH = 0.55, 0.9
"""Cost of taking a mention for none of its steps, and what each group of a sure one adds."""

_FAINT = 0.2
"""The same for a mention that no way of any step is said in."""


@dataclass(frozen=True)
class Said:
    """A step and the words that said it."""

    step: str
    mention: Mention


@dataclass(frozen=True)
class _Reading:
    cost: float
    last: int
    used: frozenset[str]
    steps: tuple[str | None, ...]


def assign(mentions: Sequence[Mention], places: Mapping[str, int]) -> list[Said]:
    """A step for each mention, in the order given; `places` is the guided order. Equal readings: the earlier step."""
    readings = [_Reading(0.0, -1, frozenset(), ())]
    for mention in mentions:
        grown = [_go(reading, step, places[step]) for reading in readings for step in mention.steps]
        grown += [_pass(reading, mention) for reading in readings]
        best: dict[tuple[int, frozenset[str]], _Reading] = {}
        for reading in sorted(grown, key=lambda reading: reading.cost):
            best.setdefault((reading.last, reading.used), reading)
        readings = list(best.values())[:_KEPT]
    return [Said(step, mention) for step, mention in zip(readings[0].steps, mentions, strict=True) if step is not None]


def _pass(reading: _Reading, mention: Mention) -> _Reading:
    cost = _FAINT if mention.faint else _DROPPED + _EACH * mention.weight
    return _Reading(reading.cost + cost, reading.last, reading.used, (*reading.steps, None))


def _go(reading: _Reading, step: str, place: int) -> _Reading:
    if step in reading.used:
        cost, last = (_STILL, reading.last) if place == reading.last else (_AGAIN, reading.last)
    else:
        passed = min(abs(place - reading.last) - 1, _LONGEST)
        cost, last = _SKIP * passed + (_BACK if place < reading.last else 0.0), place
    return _Reading(reading.cost + cost, last, reading.used | {step}, (*reading.steps, step))
