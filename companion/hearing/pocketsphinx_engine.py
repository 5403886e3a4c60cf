"""PocketSphinx as the ear: the embedded US English model, whole phrases only, and a measure of "none of these".

Two decoders hear the same sound side by side. One knows only the phrases, their decoys and silence; the other is free
to string any speech sounds together. A phrase really said fits about as well as the free string; talk that was forced
into the nearest phrase fits much worse, and that difference is what refuses it.
"""

import math
import time
from collections import OrderedDict
from collections.abc import Iterable
from typing import Any

import numpy as np

from companion.errors import HearingError
from companion.hearing.pronunciation import phonemes, unknown_words
from companion.hearing.word_graph import word_graph
from companion.ports.recogniser import Expected, Hearing, Listening
from companion.ports.sound import SAMPLE_RATE, Samples

NAME = "pocketsphinx"
_SCALE = 1024.0
"""Scores inside PocketSphinx are shifted right by ten bits; this gives nats back."""
_KEPT_GRAMMARS = 24
_PER_S = 100
"""Frames of the model a second."""
_SURE, _SURE_STRICT, _NEAR = -2.0, -1.7, -2.6
_SHORTEST = 0.2
"""Seconds of speech below which nothing was said."""


def _nats(score: float) -> float:
    return math.log(score) * _SCALE if score > 0 else -math.inf


class PocketSphinxEngine:
    """A `Recogniser` that needs nothing fetched. One utterance is heard at a time."""

    name = NAME
    language = "en-US"

    def __init__(self) -> None:
        try:
            from pocketsphinx import Decoder, get_model_path
        except ImportError as error:
            raise HearingError("the recogniser pocketsphinx is not installed: pip install pocketsphinx") from error
        import tempfile
        from pathlib import Path

        with tempfile.TemporaryDirectory() as folder:
            seed = Path(folder) / "seed.dict"
            seed.write_text("a AH\n", encoding="ascii")  # all other words come by add_word, as they are needed
            common: dict[str, Any] = {"lm": None, "bestpath": False, "loglevel": "FATAL", "dict": str(seed)}
            try:
                self._phrases = Decoder(**common)
                self._sounds = Decoder(**common)
                self._sounds.add_allphone_file("sounds", get_model_path("en-us/en-us-phone.lm.bin"))
                self._sounds.activate_search("sounds")
            except RuntimeError as error:
                raise HearingError(f"PocketSphinx cannot load its English model: {error}") from error
        self._words: set[str] = set()
        self._grammars: OrderedDict[tuple[str, ...], str] = OrderedDict()
        self._made = 0
        self._busy = False

    def unknown_words(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Words of `phrases` in neither CMUdict nor our lexicon."""
        return unknown_words(phrases)

    def listen(self, expected: Expected) -> Listening:
        """Start on an utterance. Raises HearingError for words it does not know, or while another is being heard."""
        if self._busy:
            self._abandon()
        self._activate(expected)
        self._busy = True
        return _PocketSphinxListening(self, expected)

    def close(self) -> None:
        if self._busy:
            self._abandon()

    def _abandon(self) -> None:
        for decoder in (self._phrases, self._sounds):
            decoder.end_utt()
        self._busy = False

    def _activate(self, expected: Expected) -> None:
        key = tuple(dict.fromkeys((*expected.phrases, *expected.decoys)))
        name = self._grammars.get(key)
        if name is None:
            name = self._compile(key)
            self._grammars[key] = name
            if len(self._grammars) > _KEPT_GRAMMARS:
                _, oldest = self._grammars.popitem(last=False)
                self._phrases.remove_search(oldest)
        self._grammars.move_to_end(key)
        self._phrases.activate_search(name)

    def _compile(self, phrases: tuple[str, ...]) -> str:
        if not phrases:
            raise HearingError("there is no phrase to listen for; a step needs at least one")
        missing = self.unknown_words(phrases)
        if missing:
            raise HearingError(
                f"no pronunciation is known for {', '.join(missing)}; "
                "use other words or add them to models/lexicon-en.yaml"
            )
        for word in dict.fromkeys(word for phrase in phrases for word in phrase.split()):
            if word in self._words or word == "a":
                continue
            for number, said in enumerate(phonemes(word), 1):
                spelled = word if number == 1 else f"{word}({number})"
                if isinstance(self._phrases.add_word(spelled, " ".join(said), False), Exception):
                    raise HearingError(f"the pronunciation of {word} uses a sound the model does not have")
            self._words.add(word)
        arcs, finals = word_graph(phrases)
        final = 1 + max(max(a, b) for a, b, _ in arcs)
        transitions: list[tuple[Any, ...]] = [(a, b, 1.0, word) for a, b, word in arcs]
        transitions += [(state, final, 1.0) for state in finals]
        self._made += 1
        name = f"phrases-{self._made}"
        self._phrases.add_fsg(name, self._phrases.create_fsg(name, 0, final, transitions))
        return name


class _PocketSphinxListening:
    """One utterance, decoded as it comes in."""

    def __init__(self, engine: PocketSphinxEngine, expected: Expected) -> None:
        self._engine = engine
        self._expected = expected
        self._allowed = frozenset(expected.phrases)
        self._phrases, self._sounds = engine._phrases, engine._sounds
        self._loudest = 0
        self._samples = 0
        self._phrases.start_utt()
        self._sounds.start_utt()

    def feed(self, samples: Samples) -> None:
        if samples.size == 0:
            return
        self._samples += samples.size
        data = np.ascontiguousarray(samples, dtype="<i2").tobytes()
        self._phrases.process_raw(data)
        self._sounds.process_raw(data)

    def partial(self) -> str | None:
        found = self._phrases.hyp()
        return found.hypstr if found is not None and found.hypstr in self._allowed else None

    def finish(self) -> Hearing:
        began = time.perf_counter()
        self._phrases.end_utt()
        self._sounds.end_utt()
        self._engine._busy = False
        verdict, phrase, nearest, margin, reason = self._decide()
        return Hearing(
            verdict=verdict,  # type: ignore[arg-type]
            phrase=phrase,
            nearest=nearest,
            margin=margin,
            engine=NAME,
            reason=reason,
            decide_s=time.perf_counter() - began,
            probability=1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, 6 * (margin - _SURE))))),
        )

    def _decide(self) -> tuple[str, str | None, str | None, float, str]:
        best = self._phrases.hyp()
        free = self._sounds.hyp()
        if best is None or free is None or self._samples < _SHORTEST * SAMPLE_RATE:
            return "silence", None, None, -math.inf, "no speech was found"
        words = [s for s in self._phrases.seg() if not s.word.startswith(("<", "["))]
        whole = any(s.word == "(NULL)" for s in words)
        spoken = [s for s in words if s.word != "(NULL)"]
        if not spoken:
            return "silence", None, None, -math.inf, "no speech was found"
        start, end = spoken[0].start_frame, spoken[-1].end_frame
        fit = sum(_nats(s.ascore) for s in spoken)
        reference = 0.0
        for sound in self._sounds.seg():
            shared = min(end, sound.end_frame) - max(start, sound.start_frame) + 1
            if shared > 0:
                reference += _nats(sound.ascore) * shared / (sound.end_frame - sound.start_frame + 1)
        margin = (fit - reference) / (end - start + 1)
        nearest = best.hypstr
        if not whole:
            return "other", None, nearest, margin, "only part of a phrase was heard"
        if nearest not in self._allowed:
            return ("unclear" if margin > _NEAR else "other"), None, nearest, margin, "it sounded like something else"
        if margin > (_SURE_STRICT if self._expected.strict else _SURE):
            return "accepted", nearest, nearest, margin, ""
        if margin > _NEAR:
            return "unclear", None, nearest, margin, "it did not fit well enough"
        return "other", None, nearest, margin, "it was none of the phrases"
