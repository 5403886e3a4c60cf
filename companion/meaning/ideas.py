"""The ideas of a procedure: for each step the ways in which it may be said."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log

from companion.meaning.common import COMMON
from companion.meaning.lexicon import Lexicon, lexicon_of
from companion.meaning.likely import TalkReader
from companion.meaning.ways import Alternative, Way, misfit, parse_way
from companion.meaning.words import words
from companion.procedure.model import Procedure
from companion.procedure.steps import Step


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
    yield from step.known_by


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
    names = list(own)
    for (one, other), (a, b) in sorted(_overlaps(list(own.values())).items()):
        same = f"`{own[names[one]][a].written}` and `{own[names[other]][b].written}`"
        message = f"may be taken for `{names[other]}`: {same} are said by the same words, and only the order tells"
        found.append(Remark(names[one], message))
    return found


def _overlaps(own: Sequence[Sequence[Way]]) -> dict[tuple[int, int], tuple[int, int]]:
    """Which steps have ways that some sentence of just the words of one counts for both, by their places: the places of
    the first two such ways. A way is only compared with those that share a word with its rarest group, so that ten
    thousand ways take no longer than they must."""
    having: dict[Alternative, list[tuple[int, int]]] = {}
    for step, ways in enumerate(own):
        for place, way in enumerate(ways):
            for alternative in {each for group in (*way.groups, *way.beside) for each in group}:
                having.setdefault(alternative, []).append((step, place))
    found: dict[tuple[int, int], tuple[int, int]] = {}
    for step, ways in enumerate(own):
        bare = {replace(way, written=""): place for place, way in reversed(list(enumerate(ways)))}
        for way, place in bare.items():
            groups = (*way.groups, *way.beside)
            rarest = min(groups, key=lambda group: sum(len(having[each]) for each in group), default=frozenset())
            for other, there in {at for each in rarest for at in having[each]}:
                pair, places = (step, other), (place, there)
                if step > other:
                    pair, places = (other, step), (there, place)
                first = found.get(pair)
                if step != other and (first is None or places < first) and within(way, own[other][there]):
                    found[pair] = places
    return found


def _written(step: Step) -> list[str]:
    return [written for written in step.ideas if not written.startswith("=")]


def within(small: Way, large: Way) -> bool:
    """Whether words chosen for `large`, one of each group, can make `small`: each of its groups from another one."""
    if any(alternative in group for alternative in small.without for group in (*large.groups, *large.beside)):
        return False
    groups = (*large.groups, *large.beside)

    def fits(left: Sequence[frozenset[Alternative]], free: frozenset[int]) -> bool:
        if not left:
            return True
        return any(left[0] & groups[number] and fits(left[1:], free - {number}) for number in free)

    return fits((*small.groups, *small.beside), frozenset(range(len(groups))))
