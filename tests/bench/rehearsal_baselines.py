"""What simpler programs would take an utterance for: plain keyword search, and the nearest sentence."""

from collections import Counter
from collections.abc import Sequence
from functools import cache

from rapidfuzz import fuzz

from companion.meaning.words import words
from companion.procedure.model import Procedure
from companion.session.findings import Heard
from tests.rehearsals import procedure as plan

NEAREST = 62.0
"""Likeness (rapidfuzz, token set ratio, 0 to 100) from which the nearest step counts; set by hand, not tuned."""


def keywords(procedure: Procedure, heard: Sequence[Heard]) -> list[tuple[str, int]]:
    """For each utterance the step whose title shares the largest part of its telling words with it, half or more."""
    found = []
    for each in heard:
        spoken = {word.stem for word in words(each.text)}
        scores = {name: len(keys & spoken) / len(keys) for name, keys in _keys(procedure.id).items() if keys & spoken}
        best = max(scores, key=lambda name: scores[name], default=None)
        if best is not None and scores[best] >= 0.5:
            found.append((best, each.n))
    return found


@cache
def _keys(name: str) -> dict[str, frozenset[str]]:
    by_step = {step.id: {word.stem for word in words(step.title) if len(word.text) > 2} for step in plan(name).steps}
    count = Counter(key for keys in by_step.values() for key in keys)
    return {
        name: frozenset(key for key in keys if count[key] <= 5) or frozenset(keys) for name, keys in by_step.items()
    }


def nearest(procedure: Procedure, heard: Sequence[Heard]) -> list[tuple[str, int]]:
    """The step whose title, prompt or reply is most like the utterance, where it is like enough."""
    found = []
    for each in heard:
        scores = {
            name: max(fuzz.token_set_ratio(each.text.lower(), text) for text in texts)
            for name, texts in _sentences(procedure.id).items()
        }
        best = max(scores, key=lambda name: scores[name])
        if scores[best] >= NEAREST:
            found.append((best, each.n))
    return found


@cache
def _sentences(name: str) -> dict[str, tuple[str, ...]]:
    return {
        step.id: (step.title.lower(), step.say.lower(), *getattr(step, "replies", ()), *getattr(step, "normal", ()))
        for step in plan(name).steps
    }
