"""What an utterance mentions: places in its words where the ideas of one or more steps stand."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from companion.core.findings import Heard
from companion.core.ideas import Ideas
from companion.core.talk.clauses import corrections, sentences, voids
from companion.core.talk.rules import NEGATION
from companion.core.talk.ways import Match, Told, find
from companion.core.talk.words import Word, words

_LISTED = 4
"""Words after the last one known of a list that are still things named in it."""

_AFTERWARDS = frozenset({"after", "having", "once"})
"""Begin a clause that tells what was done before the rest of the sentence."""


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
    faint: bool = False
    """No way is said in it; it may say the very step that is due."""


def mentions(ideas: Ideas, heard: Heard, sounds: Mapping[str, str] | None = None) -> list[Mention]:
    """What an utterance mentions, in the order meant. `sounds` gives, for a word misheard, the stem that was meant."""
    said = words(heard.text, sounds or {})
    told, why = Told(said), voids(said)
    silent, denied_too = [bool(reason) for reason in why], [reason not in ("", NEGATION) for reason in why]
    found: dict[Match, dict[str, int]] = {}
    for step, ways in ideas.ways.items():
        for way in ways:
            for match in find(way, told, denied_too if way.negates else silent):
                steps = found.setdefault(match, {})
                steps[step] = max(steps.get(step, 0), way.weight)
    kept = _taken_back(said, _widest(found), found)
    ordered = sorted(kept, key=lambda match: _told(said, match))
    surely = [_mention(found[match], heard, said, match) for match in ordered]
    if any(mention.weight for mention in surely):
        return surely
    return [*surely, *_faint(ideas, heard, said, why)]


def _faint(ideas: Ideas, heard: Heard, said: Sequence[Word], why: Sequence[str]) -> list[Mention]:
    """Where no way is said: the steps that the rare words of the utterance are of. They count only where due."""
    counting = {word.stem: place for place, word in enumerate(said)}
    scores = {step: sum(weight for key, weight in rare.items() if key in counting) for step, rare in ideas.rare.items()}
    steps = {step: 0 for step, score in scores.items() if score >= _TELLING}
    if not steps or any(why) or any(word.asks for word in said):
        return []
    match = Match(frozenset(counting.values()))
    return [replace(_mention(steps, heard, said, match), faint=True)]


_TELLING = 0.5
"""How much rare words must say: one that two steps share, or more."""


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


def _told(said: Sequence[Word], match: Match) -> tuple[int, int, int]:
    """By sentence; in it what is told as done before ("..., after I ...") comes first."""
    number, sentence = next((n, part) for n, part in enumerate(sentences(said)) if match.first in part)
    before = any(
        said[place].text in _AFTERWARDS and place != sentence.start and match.last - place <= 10
        for place in range(max(sentence.start, match.first - 4), match.first + 1)
        if "that" not in (said[min(place + 1, len(said) - 1)].text,)
    )
    return number, 0 if before else 1, match.first


def _taken_back(said: Sequence[Word], matches: list[Match], steps: Mapping[Match, Mapping[str, int]]) -> list[Match]:
    """Without the last step said before a "no wait", where something else is said after it."""
    gone: set[Match] = set()
    for place in corrections(said):
        before = [match for match in matches if match.last < place]
        last = max(before, key=lambda match: match.last, default=None)
        if last is not None and place - last.last <= 6 and any(match.first > place for match in matches):
            gone |= {match for match in before if steps[match].keys() & steps[last].keys()}
    return [match for match in matches if match not in gone]


def _mention(steps: Mapping[str, int], heard: Heard, said: Sequence[Word], match: Match) -> Mention:
    start, end = said[match.first].start, said[match.last].end
    share = start / max(1, len(heard.text))
    at_ms = heard.at_ms + round((heard.until_ms - heard.at_ms) * share)
    sure = frozenset(step for step, weight in steps.items() if weight)
    return Mention(tuple(steps), sure, max(steps.values()), heard, heard.text[start:end], at_ms, match.first)
