"""The ideas of a procedure: for each step the ways in which it may be said."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import log

from companion.core.procedure import Procedure, Step
from companion.core.talk.common import COMMON
from companion.core.talk.lexicon import Lexicon, lexicon_of
from companion.core.talk.likely import TalkReader
from companion.core.talk.ways import Alternative, Way, misfit, parse_way
from companion.core.talk.words import words


@dataclass(frozen=True)
class Ideas:
    """`ways` of each step that has any, in the order of the file."""

    ways: Mapping[str, tuple[Way, ...]]
    places: Mapping[str, int]
    """Place of each step in the guided order."""
    topic: Mapping[str, Mapping[str, float]]
    """For each step the stems of its ideas, prompt and replies: 1 for one that is its own, near 0 for a common one."""
    lexicon: Lexicon | None = None
    """What people were heard to say for each step, where that was counted."""
    reader: TalkReader | None = None
    """A model that reads the whole talk, where there is one for the procedure; the lexicon is not asked then."""


@dataclass(frozen=True)
class Remark:
    """Something about the ideas of a step that an author should know; nothing that stops the file's use."""

    step: str
    message: str


def ideas_of(procedure: Procedure, only: Collection[str] = (), reader: TalkReader | None = None) -> Ideas:
    """The ideas of the main steps, or of those of `only`. Raises ValueError for a way that is not well written."""
    steps = {step.id: step for step in procedure.steps}
    ways = {name: tuple(_ways(step, steps, ())) for name, step in steps.items()}
    kept = {name: found for name, found in ways.items() if found and (not only or name in only)}
    return Ideas(
        kept,
        {step.id: place for place, step in enumerate(procedure.steps)},
        _topic(procedure, kept),
        lexicon_of(procedure.id),
        reader,
    )


def _topic(procedure: Procedure, ways: Mapping[str, tuple[Way, ...]]) -> Mapping[str, Mapping[str, float]]:
    vocabulary = {
        step.id: {key for way in ways.get(step.id, ()) for group in way.groups for each in group for key in each}
        | {word.stem for text in _texts(step) for word in words(text)}
        for step in procedure.steps
    }
    count = Counter(key for keys in vocabulary.values() for key in keys if _tells(key))
    whole = log(len(procedure.steps) + 1)
    return {
        name: {key: 1 - log(count[key]) / whole for key in keys if count[key]}
        for name, keys in vocabulary.items()
        if name in ways
    }


def _tells(key: str) -> bool:
    return key == "#" or (key.isalpha() and len(key) > 2 and key not in COMMON)


def _texts(step: Step) -> Iterator[str]:
    yield from (step.title, step.say)
    yield from getattr(step, "replies", ())
    yield from getattr(step, "normal", ())
    for item in getattr(step, "items", ()):
        yield item.say
        yield from item.agrees


def _ways(step: Step, steps: Mapping[str, Step], via: tuple[str, ...]) -> Iterator[Way]:
    for written in step.ideas:
        other = written.removeprefix("=")
        if other == written:
            yield parse_way(written)
        elif other in steps and other not in (*via, step.id):
            yield from _ways(steps[other], steps, (*via, step.id))


def misfits(step: Step, known: Sequence[str]) -> Iterator[tuple[int, str]]:
    """Place and fault of each way of a step that cannot be used; `known` are the ids `=` may name."""
    for place, written in enumerate(step.ideas):
        wrong = misfit(written)
        if wrong:
            yield place, f"`{written}`: {wrong}"
        elif written.startswith("=") and (written[1:] not in known or written[1:] == step.id):
            yield place, f"`{written}` names no other main step; accepted: `=` and the id of one"


def remarks(procedure: Procedure) -> list[Remark]:
    """Pairs of steps that one sentence would count for."""
    found = []
    own = {step.id: [way for way in map(parse_way, _written(step)) if not way.weak] for step in procedure.steps}
    for one, other in combinations(own, 2):
        pair = next(((a, b) for a in own[one] for b in own[other] if overlap(a, b)), None)
        if pair is not None:
            same = f"`{pair[0].written}` and `{pair[1].written}`"
            message = f"may be taken for `{other}`: {same} are said by the same words, and only the order tells"
            found.append(Remark(one, message))
    return found


def _written(step: Step) -> list[str]:
    return [written for written in step.ideas if not written.startswith("=")]


def overlap(one: Way, other: Way) -> bool:
    """Whether some sentence that has just the words of one of them counts for both."""
    return _within(one, other) or _within(other, one)


def _within(small: Way, large: Way) -> bool:
    """Whether words chosen for `large`, one of each group, can make `small`: each of its groups from another one."""
    if any(alternative in group for alternative in small.without for group in (*large.groups, *large.beside)):
        return False
    groups = (*large.groups, *large.beside)

    def fits(left: Sequence[frozenset[Alternative]], free: frozenset[int]) -> bool:
        if not left:
            return True
        return any(left[0] & groups[number] and fits(left[1:], free - {number}) for number in free)

    return fits((*small.groups, *small.beside), frozenset(range(len(groups))))
