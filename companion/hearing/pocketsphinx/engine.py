"""PocketSphinx as the ear: the embedded US English model, whole phrases only, and a measure of "none of these".

Two decoders hear the same sound side by side. One knows only the phrases, their decoys and silence; the other is free
to string any speech sounds together. A phrase really said fits about as well as the free string; talk that was forced
into the nearest phrase fits much worse, and that difference is what refuses it.
"""

import time
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any

import numpy as np

from companion.errors import HearingError
from companion.hearing.pocketsphinx.decoders import Gauge, GrammarDecoder, as_bytes, begin, free_decoder, stretches
from companion.hearing.pocketsphinx.evidence import Judgement, judge, weigh
from companion.hearing.pocketsphinx.first_moments import Opening
from companion.hearing.pronunciation import unknown_words
from companion.ports.recogniser import Expected, Hearing, Listening
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.speech.language import tell

NAME = "pocketsphinx"
_BLOCK = SAMPLE_RATE // 20
_HISS = 10.0
"""Root mean square of the noise that is added: -70 dB below full scale."""
_SHORTEST_S = 0.15
"""Sound shorter than this holds no phrase."""
_NOTHING = Judgement("silence", -30.0, 0.0, tell("en", "no speech"))


class PocketSphinxEngine:
    """A `Recogniser` that needs nothing fetched. One utterance is heard at a time; a new one ends the one before."""

    name = NAME
    language = "en-US"

    def __init__(self) -> None:
        self._grammar = GrammarDecoder()
        self._free = free_decoder()
        self._gauge = Gauge()
        self._now: _PocketSphinxListening | None = None

    def unknown_words(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Words of `phrases` in neither CMUdict nor our lexicon."""
        return unknown_words(phrases)

    def listen(self, expected: Expected) -> Listening:
        """Start on an utterance. Raises HearingError when nothing is expected or a word has no pronunciation."""
        if not expected.phrases:
            raise HearingError("there is no phrase to listen for; a step needs at least one")
        self.close()
        self._grammar.allow(tuple(dict.fromkeys((*expected.phrases, *_rivals(expected)))))
        self._now = _PocketSphinxListening((self._grammar.decoder, self._free), self._gauge, expected)
        return self._now

    def close(self) -> None:
        """End the utterance being heard, if any."""
        if self._now is not None:
            self._now.end()
            self._now = None


class _PocketSphinxListening:
    """One utterance, decoded as it comes in once its opening is known."""

    def __init__(self, decoders: tuple[Any, Any], gauge: Gauge, expected: Expected) -> None:
        """`decoders`: that of the phrases, ready for them, and the free one."""
        self._decoders = decoders
        self._gauge = gauge
        self._expected = expected
        self._allowed = frozenset(expected.phrases)
        self._opening = Opening()
        self._waiting: Samples = np.zeros(0, np.int16)
        self._samples = 0
        self._decoding = self._ended = False

    def feed(self, samples: Samples) -> None:
        if samples.size == 0:
            return
        if self._ended:
            raise HearingError("this utterance has ended; listen again for the next")
        samples = _with_hiss(samples, self._samples)
        self._samples += samples.size
        if self._decoding:
            self._decode(samples)
            return
        self._opening.feed(samples)
        if self._opening.ready:
            self._begin()

    def _begin(self) -> None:
        """Take the average spectrum of the opening, and decode what has come in so far."""
        mean = self._gauge.mean(self._opening.sample)
        for decoder in self._decoders:
            begin(decoder, mean)
        self._decoding = True
        self._decode(self._opening.sound)

    def _decode(self, samples: Samples, last: bool = False) -> None:
        """Pass on whole blocks, so that the answer does not depend on how the sound was cut up."""
        waiting = np.concatenate([self._waiting, samples])
        whole = len(waiting) if last else len(waiting) - len(waiting) % _BLOCK
        self._waiting = waiting[whole:]
        for start in range(0, whole, _BLOCK):
            data = as_bytes(waiting[start : min(start + _BLOCK, whole)])
            for decoder in self._decoders:
                decoder.process_raw(data)

    def partial(self) -> str | None:
        if not self._decoding or self._ended:
            return None
        found = self._decoders[0].hyp()
        return found.hypstr if found is not None and found.hypstr in self._allowed else None

    def end(self) -> None:
        """Let go of the decoders. Harmless when already done."""
        if self._decoding and not self._ended:
            for decoder in self._decoders:
                decoder.end_utt()
        self._ended = True

    def finish(self) -> Hearing:
        began = time.perf_counter()
        nearest, judgement = self._decide()
        accepted = judgement.verdict == "accepted"
        return Hearing(
            verdict=judgement.verdict,
            phrase=nearest if accepted else None,
            nearest=nearest,
            margin=judgement.margin,
            engine=NAME,
            reason=judgement.reason,
            decide_s=time.perf_counter() - began,
            probability=judgement.probability,
        )

    def _decide(self) -> tuple[str | None, Judgement]:
        if self._samples < _SHORTEST_S * SAMPLE_RATE:
            self._ended = True
            return None, _NOTHING
        if not self._decoding:
            self._begin()
        self._decode(np.zeros(0, np.int16), last=True)
        self.end()
        best = self._decoders[0].hyp()
        evidence = weigh(*(stretches(decoder) for decoder in self._decoders))
        if best is None or evidence is None:
            return None, _NOTHING
        return best.hypstr, judge(evidence, best.hypstr, self._expected)


def _rivals(expected: Expected) -> Iterator[str]:
    """The decoys that help this engine: those that share most of the words of an allowed phrase ("gloves off").

    The words of any other ("thank you") fit an accent, or the noise around a phrase, better than the phrase does, and
    steal it. Where they are really said, the fit of the phrase, or the speech left over beside it, refuses it
    (`Evidence`).
    """
    allowed = [frozenset(phrase.split()) for phrase in expected.phrases if " " in phrase]
    for decoy in expected.decoys:
        words = frozenset(decoy.split())
        if any(2 * len(words & phrase) >= len(phrase) for phrase in allowed):
            yield decoy


@lru_cache(maxsize=1)
def _hiss() -> Samples:
    return np.random.default_rng(1).normal(0, _HISS, 10 * SAMPLE_RATE).astype(np.int16)


def _with_hiss(samples: Samples, at: int) -> Samples:
    """A trace of noise, always the same: digital silence around speech upsets the measure of how well it fits."""
    hiss = np.take(_hiss(), np.arange(at, at + samples.size), mode="wrap")
    mixed: Samples = np.clip(samples.astype(np.int32) + hiss, -32768, 32767).astype(np.int16)
    return mixed
