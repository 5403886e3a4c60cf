"""The decoders inside the PocketSphinx engine, and the calls of theirs that need care.

A decoder that only ever hears grammars needs no dictionary of 130,000 words: words are added as they come up, with
pronunciations of our own finding. Grammars are kept, because a step that is asked again has the same one.
"""

import math
import tempfile
import warnings
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from companion.errors import HearingError
from companion.hearing.pocketsphinx.word_graph import word_graph
from companion.hearing.pronunciation import phonemes, unknown_words
from companion.ports.sound import Samples

_SCALE = 1024.0
"""Scores inside PocketSphinx are shifted right by ten bits; this gives nats back."""
_KEPT_GRAMMARS = 24
_SEED = "a"


@dataclass(frozen=True)
class Stretch:
    """A word, sound or silence of the best path: the frames (10 ms) it spans, both included, and its fit in nats."""

    name: str
    first: int
    last: int
    fit: float


def stretches(decoder: Any) -> list[Stretch]:
    """The best path of the utterance just ended, in order; empty when there is none."""
    found = []
    for piece in decoder.seg() or ():
        fit = math.log(piece.ascore) * _SCALE if piece.ascore > 0 else -math.inf
        found.append(Stretch(piece.word, piece.start_frame, piece.end_frame, fit))
    return found


def new_decoder() -> Any:
    """A decoder with the embedded US English model and a dictionary of one word. Raises HearingError.

    Scores are measured from the best of the model's states that are looked at. All are looked at (`compallsen`), so
    that two decoders measure from the same point; else a larger grammar makes the same phrase seem to fit worse.
    """
    try:
        from pocketsphinx import Decoder
    except ImportError as error:
        raise HearingError("the recogniser pocketsphinx is not installed: pip install pocketsphinx") from error
    with tempfile.TemporaryDirectory() as folder:
        seed = Path(folder) / "seed.dict"
        seed.write_text(f"{_SEED} AH\n", encoding="ascii")
        try:
            return Decoder(lm=None, bestpath=False, compallsen=True, loglevel="FATAL", dict=str(seed))
        except RuntimeError as error:
            raise HearingError(f"PocketSphinx cannot load its English model: {error}") from error


def free_decoder() -> Any:
    """A decoder that strings any sounds together, all equally likely: the measure of how well anything could fit.

    Without a phone language model, which favours ordinary talk, it tells phrases from talk far better (measured).
    """
    decoder = new_decoder()
    decoder.add_allphone_file("sounds", None)
    decoder.activate_search("sounds")
    return decoder


class Gauge:
    """Measures the average spectrum of a sound. A decoder of its own, because one that has decoded with a given
    average blends that into the next (found by trial)."""

    def __init__(self) -> None:
        self._decoder = free_decoder()

    def mean(self, samples: Samples) -> str:
        """The cepstral mean, as `begin` takes it."""
        _forget_noise(self._decoder)
        self._decoder.start_utt()
        self._decoder.process_raw(as_bytes(samples), no_search=True, full_utt=True)
        found: str = self._decoder.get_cmn(False)
        self._decoder.end_utt()
        return found


def begin(decoder: Any, mean: str) -> None:
    """Start an utterance that owes nothing to the ones before."""
    _forget_noise(decoder)
    decoder.set_cmn(mean)
    decoder.start_utt()


def _forget_noise(decoder: Any) -> None:
    """Reset the running estimate of noise that is taken away from the sound.

    PocketSphinx calls `start_stream` unnecessary; without it the same sound scores differently after a loud one.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        decoder.start_stream()


def as_bytes(samples: Samples) -> bytes:
    """The form in which PocketSphinx takes samples."""
    return np.ascontiguousarray(samples, dtype="<i2").tobytes()


class GrammarDecoder:
    """A decoder for sets of whole phrases. `decoder` is ready for an utterance after `allow`."""

    def __init__(self) -> None:
        self.decoder = new_decoder()
        self._words = {_SEED}
        self._grammars: OrderedDict[tuple[str, ...], str] = OrderedDict()
        self._made = 0

    def allow(self, phrases: tuple[str, ...]) -> None:
        """Make these phrases all that can be heard. Raises HearingError for words without a pronunciation."""
        name = self._grammars.get(phrases)
        if name is None:
            name = self._compile(phrases)
            self._grammars[phrases] = name
        self._grammars.move_to_end(phrases)
        self.decoder.activate_search(name)
        if len(self._grammars) > _KEPT_GRAMMARS:
            _, oldest = self._grammars.popitem(last=False)
            self.decoder.remove_search(oldest)

    def _compile(self, phrases: tuple[str, ...]) -> str:
        missing = unknown_words(phrases)
        if missing:
            raise HearingError(
                f"no pronunciation is known for {', '.join(missing)}; "
                "use other words or add them to models/lexicon-en.yaml"
            )
        self._learn(word for phrase in phrases for word in phrase.split())
        arcs, finals = word_graph(phrases)
        final = 1 + max(max(at, to) for at, to, _ in arcs)
        moves: list[tuple[Any, ...]] = [(at, to, 1.0, word) for at, to, word in arcs]
        moves += [(state, final, 1.0) for state in finals]
        self._made += 1
        name = f"phrases-{self._made}"
        grammar = self.decoder.create_fsg(name, 0, final, moves)
        for outcome in (grammar, self.decoder.add_fsg(name, grammar)):
            if isinstance(outcome, Exception):  # some calls return the exception that they should have raised
                raise HearingError(f"PocketSphinx cannot listen for these phrases: {outcome}") from outcome
        return name

    def _learn(self, words: Iterable[str]) -> None:
        for word in dict.fromkeys(words):
            if word in self._words:
                continue
            for number, said in enumerate(phonemes(word), 1):
                spelled = word if number == 1 else f"{word}({number})"
                try:
                    outcome = self.decoder.add_word(spelled, " ".join(said), False)
                except RuntimeError as error:
                    outcome = error
                if isinstance(outcome, Exception):
                    raise HearingError(f"the pronunciation of {word} uses a sound the model does not have")
            self._words.add(word)
