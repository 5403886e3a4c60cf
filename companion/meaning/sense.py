"""Mentions that are not found by their words: what a model takes each utterance to say, knowing the whole talk."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import floor

from companion.meaning.clauses import clauses
from companion.meaning.ideas import Ideas
from companion.meaning.likely import LEAST, MOST, Likely
from companion.meaning.mention import Mention, mention_of, rank_of
from companion.meaning.ways import Match
from companion.meaning.words import words
from companion.session.findings import Heard


def senses(ideas: Ideas, heard: Sequence[Heard]) -> list[Mention]:
    """Those of all utterances; none where nothing reads the talk."""
    if ideas.reader is None:
        return []
    read = ideas.reader.read([each.text for each in heard])
    return [mention for each, likely in zip(heard, read, strict=True) for mention in sensed(ideas, each, likely)]


def sensed(ideas: Ideas, heard: Heard, likely: Sequence[Likely]) -> Iterator[Mention]:
    """The same as mentions, for the steps that are rehearsed; their words are the clause that tells most."""
    said = words(heard.text)
    parts = clauses(said, wide=False)
    for each in likely:
        if each.step not in ideas.ways or not said or each.odds < LEAST:
            continue
        place = max((n for n, word in enumerate(said) if word.start <= each.at), default=0)
        part = next(part for part in parts if place in part)
        mention = mention_of({each.step: 0}, heard, said, Match(frozenset(part)))
        level = f"sense {min(MOST, floor(each.odds + 0.5))}"
        rank = rank_of(said, place)
        yield replace(mention, faint=True, odds=each.odds, telling=level, rank=rank)
