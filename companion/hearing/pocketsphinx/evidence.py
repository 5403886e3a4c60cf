"""From two best paths to a measure: how surely was the phrase said, and not something else that it is nearest to?"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from companion.hearing.phone_distance import phrase_distance
from companion.hearing.pocketsphinx.decoders import Stretch
from companion.ports.recogniser import Expected, Verdict
from companion.speech.language import tell

_PAUSE = ("<", "[")
_END = "(NULL)"
_FLOOR = -30.0

# Where the fit of phrases really said parts from that of talk forced into them, found on human recordings and two of
# flite's voices; tests/bench/hearing.py measures what they reach on others.
_AT, _SLOPE = -2.2, 2.5
_WORD_AT = -3.2
"""One word that fits worse than this refuses a phrase whose other words fit."""
_REST_AT = -2.3
"""Sound before, after or between the words that is no nearer to silence than this refuses the phrase: more was said."""
_ACCEPT, _ACCEPT_ONE_WORD, _ACCEPT_STRICT, _UNCLEAR = 0.3, 0.55, 0.7, 0.1
"""One word fits into other talk more easily than several (tests/bench/running_talk.py)."""
_NEAR = 0.4
"""Phrases nearer than this could have been meant when a decoy was heard."""


@dataclass(frozen=True)
class Evidence:
    """What speaks for the nearest phrase. Ratios are nats a frame (10 ms) against free sounds, 0 at best."""

    words: int
    frames: int
    """Length of the phrase in the sound."""
    whole: bool
    """The path went to the end of a phrase."""
    ratio: float
    """Over the phrase."""
    ratio_all: float
    """Over the whole utterance, so that talk before or after the phrase counts against it."""
    weakest: float
    """Over the word that fits worst, a short word counting as one of a fifth of a second."""
    rest: float
    """The same over the pause that fits worst, where speech lies that is no part of the phrase."""


def weigh(path: Sequence[Stretch], free: Sequence[Stretch]) -> Evidence | None:
    """The evidence in the path of the grammar and that of free sounds; None when no word was heard."""
    words = [piece for piece in path if not piece.name.startswith(_PAUSE) and piece.name != _END]
    if not words or not free:
        return None
    total = max(path[-1].last, free[-1].last) + 1
    excess = _spread(path, total) - _spread(free, total)
    first, last = words[0].first, words[-1].last
    frames = last - first + 1

    def worst(pieces: Sequence[Stretch]) -> float:
        fits = (excess[p.first : p.last + 1].sum() / max(20, p.last - p.first + 1) for p in pieces)
        return min(fits, default=0.0)

    return Evidence(
        words=len(words),
        frames=frames,
        whole=any(piece.name == _END for piece in path),
        ratio=_bounded(excess[first : last + 1].sum() / frames),
        ratio_all=_bounded(excess.sum() / frames),
        weakest=_bounded(worst(words)),
        rest=_bounded(worst([piece for piece in path if piece.name.startswith(_PAUSE)])),
    )


def _spread(path: Sequence[Stretch], total: int) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Each stretch's fit, even over its frames."""
    row = np.zeros(total)
    for piece in path:
        if piece.last >= piece.first:
            row[piece.first : piece.last + 1] = piece.fit / (piece.last - piece.first + 1)
    return row


def _bounded(value: float) -> float:
    return float(max(_FLOOR, value)) if math.isfinite(value) else _FLOOR


@dataclass(frozen=True)
class Judgement:
    """What to make of the nearest phrase."""

    verdict: Verdict
    margin: float
    """Log-odds, in nats, that the nearest phrase was said."""
    probability: float
    reason: str


def judge(evidence: Evidence, nearest: str, expected: Expected) -> Judgement:
    """Accept, ask again or pass by. `nearest` is the best path's text."""
    fit = 0.65 * evidence.ratio + 0.35 * evidence.ratio_all
    margin = _SLOPE * min(fit - _AT, evidence.weakest - _WORD_AT, evidence.rest - _REST_AT)
    probability = 1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, margin))))
    if not evidence.whole:
        return Judgement("other", margin, 0.0, tell("en", "only part"))
    if nearest not in expected.phrases:
        if probability >= _UNCLEAR and any(_could_be(nearest, phrase) for phrase in expected.phrases):
            return Judgement("unclear", margin, 0.0, tell("en", "sounded like", what=nearest))
        return Judgement("other", margin, 0.0, tell("en", "none of the phrases"))
    enough = _ACCEPT_ONE_WORD if evidence.words == 1 else _ACCEPT
    if probability >= (_ACCEPT_STRICT if expected.strict else enough):
        return Judgement("accepted", margin, probability, "")
    if probability >= _UNCLEAR:
        return Judgement("unclear", margin, probability, tell("en", "fits the phrase badly"))
    return Judgement("other", margin, probability, tell("en", "none of the phrases"))


def _could_be(decoy: str, phrase: str) -> bool:
    """True when a speaker who was heard as `decoy` may have meant `phrase`, or its denial."""
    distance = phrase_distance(decoy, phrase)
    return (distance is not None and distance < _NEAR) or set(phrase.split()) <= set(decoy.split())
