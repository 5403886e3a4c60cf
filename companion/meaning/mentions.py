"""What an utterance mentions: places in its words where the ideas of one or more steps stand."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from companion.meaning.clauses import corrections, stops, voids
from companion.meaning.ideas import Ideas
from companion.meaning.likeness import alike, known
from companion.meaning.mention import Mention, mention_of, rank_of
from companion.meaning.rules import NEGATION
from companion.meaning.ways import Match, Told, find
from companion.meaning.words import Word, words
from companion.session.findings import Heard

_LISTED = 4
"""Words after the last one known of a list that are still things named in it."""


def mentions(ideas: Ideas, heard: Heard, sounds: Mapping[str, str] | None = None) -> list[Mention]:
    """What an utterance mentions, in the order meant. `sounds` gives, for a word misheard, the stem that was meant."""
    said = words(heard.text, sounds or {})
    told, why = Told(said), voids(said)
    silent, denied_too = [bool(reason) for reason in why], [reason not in ("", NEGATION) for reason in why]
    found: dict[Match, dict[str, int]] = {}
    hidden: dict[Match, dict[str, int]] = {}
    nowhere = [False] * len(said)
    for step, ways in ideas.ways.items():
        for way in ways:
            counting = find(way, told, denied_too if way.negates else silent)
            for match in counting:
                _add(found, match, step, way.weight)
            if way.weight and any(silent):
                for match in find(way, told, nowhere):
                    if match not in counting:
                        _add(hidden, match, step, way.weight)
    kept = _taken_back(said, _widest(found), found)
    undone = _undone(said, kept, found)
    ordered = sorted(kept, key=lambda match: rank_of(said, match.first, match.last))
    surely = [replace(mention_of(found[match], heard, said, match), taken_back=match in undone) for match in ordered]
    covered = {step for match in kept for step, weight in found[match].items() if weight}
    voided = [
        replace(mention_of(steps, heard, said, match), void=reason)
        for match in sorted(_widest(hidden), key=lambda match: rank_of(said, match.first, match.last))
        for steps in [{step: weight for step, weight in hidden[match].items() if step not in covered}]
        for reason in [next((why[place] for place in sorted(match.places) if why[place]), "")]
        if steps and reason
    ]
    return [*surely, *voided, *alike(ideas, heard, said, why), *known(ideas, heard, said, why)]


def _add(found: dict[Match, dict[str, int]], match: Match, step: str, weight: int) -> None:
    steps = found.setdefault(match, {})
    steps[step] = max(steps.get(step, 0), weight)


def unheeded(
    ideas: Ideas, heard: Heard, steps: Collection[str], sounds: Mapping[str, str] | None = None
) -> dict[str, str]:
    """Those of `steps` that an utterance speaks of in words that do not count, and why they do not."""
    said = words(heard.text, sounds or {})
    told, why = Told(said), voids(said)
    nowhere = [False] * len(said)
    found = {}
    for step in steps:
        for way in ideas.ways.get(step, ()):
            for match in find(way, told, nowhere) if way.weight > 1 else ():
                reasons = [why[place] for place in sorted(match.places) if why[place]]
                if reasons:
                    found[step] = reasons[0]
    return found


def _widest(found: Mapping[Match, Mapping[str, int]]) -> list[Match]:
    """Without matches whose words are all part of a larger one: the more that is said, the surer what is meant."""
    lists = [range(match.first - 2, match.last + _LISTED) for match in found if match.list]
    return [
        match
        for match in found
        if (match.list or not any(match.first in each and match.last in each for each in lists))
        and not any(
            match.all < other.all or (match.all == other.all and len(match.beside) > len(other.beside))
            for other in found
            if other != match
        )
    ]


def _taken_back(said: Sequence[Word], matches: list[Match], steps: Mapping[Match, Mapping[str, int]]) -> list[Match]:
    """Without the last step said before a "no wait", where something else is said after it."""
    gone: set[Match] = set()
    for place in corrections(said):
        before = [match for match in matches if match.last < place]
        last = max(before, key=lambda match: match.last, default=None)
        if last is not None and place - last.last <= 6 and any(match.first > place for match in matches):
            gone |= {match for match in before if steps[match].keys() & steps[last].keys()}
    return [match for match in matches if match not in gone]


def _undone(said: Sequence[Word], kept: Sequence[Match], steps: Mapping[Match, Mapping[str, int]]) -> set[Match]:
    """Those after which something is taken back, and nothing sure said."""
    last = max((match.last for match in kept if any(steps[match].values())), default=-1)
    places = [place for place in stops(said) if place >= last]
    return {match for match in kept if any(match.last <= place <= match.last + 8 for place in places)}
