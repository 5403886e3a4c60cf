"""Vosk as the ear, with any Vosk model: whole phrases only, checked against what the model would freely hear.

Vosk's grammar lets the words of different phrases recombine, and its word confidence is a posterior inside that
grammar, near 1 on wrong words (alphacep/vosk-api#741, #1339). So a result counts only when it is a phrase word for
word, and a second recogniser without a grammar hears the same sound: where free hearing is much likelier, it was talk.
"""

import json
import math
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from companion.errors import HearingError
from companion.ports.recogniser import Expected, Hearing, Listening, Verdict
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.speech.language import tell

NAME = "vosk"
_UNKNOWN = "[unk]"
_SURE, _SURE_STRICT, _NEAR = -0.20, -0.14, -0.30
"""Nats a frame of 10 ms by which free hearing may be likelier."""
_FRAMES_A_SAMPLE = 100 / SAMPLE_RATE


class VoskEngine:
    """A `Recogniser` on the Vosk model in `folder`. `language` is its BCP 47 tag."""

    name = NAME

    def __init__(self, folder: Path, language: str) -> None:
        self.language = language
        layouts = (folder / "am" / "final.mdl", folder / "final.mdl")
        if not any(path.is_file() for path in layouts):
            raise HearingError(f"{folder} is not a Vosk model: it holds neither am/final.mdl nor final.mdl")
        try:
            import vosk
        except ImportError as error:
            raise HearingError("the recogniser vosk is not installed: pip install vosk") from error
        except OSError as error:
            raise HearingError(f"the recogniser vosk cannot be loaded on this machine: {error}") from error
        vosk.SetLogLevel(-1)
        self._make = vosk.KaldiRecognizer
        try:
            self._model: Any = vosk.Model(str(folder))
        except Exception as error:  # Vosk raises the bare class
            raise HearingError(f"{folder}: Vosk cannot load this model") from error
        self._known: dict[str, bool] = {}

    def unknown_words(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Words of `phrases` that are not in the model; Vosk would silently drop them."""
        words = dict.fromkeys(word for phrase in phrases for word in phrase.split())
        return tuple(word for word in words if not self._knows(word))

    def _knows(self, word: str) -> bool:
        if word not in self._known:
            self._known[word] = self._model.vosk_model_find_word(word) >= 0
        return self._known[word]

    def listen(self, expected: Expected) -> Listening:
        """Start on an utterance. Raises HearingError for words the model does not know."""
        if not expected.phrases:
            raise HearingError("there is no phrase to listen for; a step needs at least one")
        missing = self.unknown_words(expected.phrases)
        if missing:
            raise HearingError(f"the Vosk model does not know {', '.join(missing)}; use other words")
        usable = [decoy for decoy in expected.decoys if not self.unknown_words((decoy,))]
        grammar = list(dict.fromkeys((*expected.phrases, *usable)))
        if self._knows(_UNKNOWN):
            grammar.append(_UNKNOWN)
        closed = self._make(self._model, SAMPLE_RATE, json.dumps(grammar, ensure_ascii=False))
        opened = self._make(self._model, SAMPLE_RATE)
        for recogniser in (closed, opened):
            recogniser.SetMaxAlternatives(1)  # only then does a result say how likely it is
        return _VoskListening(closed, opened, expected, self.language)

    def close(self) -> None:
        """The model's memory is freed when nothing uses it any more."""
        self._model = None


class _VoskListening:
    """One utterance, heard by both recognisers as it comes in."""

    def __init__(self, closed: Any, opened: Any, expected: Expected, language: str) -> None:
        self._closed, self._opened = closed, opened
        self._expected = expected
        self._language = language
        self._allowed = frozenset(expected.phrases)
        self._samples = 0
        self._done: tuple[list[tuple[str, float]], list[tuple[str, float]]] = ([], [])

    def feed(self, samples: Samples) -> None:
        if samples.size == 0:
            return
        self._samples += samples.size
        data = np.ascontiguousarray(samples, dtype="<i2").tobytes()
        for recogniser, done in zip((self._closed, self._opened), self._done, strict=True):
            if recogniser.AcceptWaveform(data):  # its own endpointing: the rest of the utterance comes as a new result
                done.append(_read(recogniser.Result()))

    def partial(self) -> str | None:
        text = " ".join((*(text for text, _ in self._done[0]), json.loads(self._closed.PartialResult())["partial"]))
        return text.strip() if text.strip() in self._allowed else None

    def finish(self) -> Hearing:
        began = time.perf_counter()
        if self._samples:
            for recogniser, done in zip((self._closed, self._opened), self._done, strict=True):
                done.append(_read(recogniser.FinalResult()))
        text, likely = _joined(self._done[0])
        free_text, free = _joined(self._done[1])
        margin = (likely - free) / max(1.0, self._samples * _FRAMES_A_SAMPLE)
        verdict, why = self._judge(text, free_text, margin)
        return Hearing(
            verdict=verdict,
            phrase=text if verdict == "accepted" else None,
            nearest=text or None,
            margin=margin,
            engine=NAME,
            reason=tell(self._language, why) if why else "",
            decide_s=time.perf_counter() - began,
            probability=1.0 / (1.0 + math.exp(-max(-50.0, min(50.0, 20 * (margin - _SURE))))) if text else 0.0,
        )

    def _judge(self, text: str, free_text: str, margin: float) -> tuple[Verdict, str]:
        """The verdict, and the key of the sentence that says why it is none better."""
        if not text:
            return ("other", "none of the phrases") if free_text else ("silence", "no speech")
        if text not in self._allowed:
            near = text in self._expected.decoys and margin > _NEAR
            return ("unclear", "sounded like another") if near else ("other", "none of the phrases")
        if text == free_text or margin > (_SURE_STRICT if self._expected.strict else _SURE):
            return "accepted", ""
        if margin > _NEAR:
            return "unclear", "fits badly"
        return "other", "none of the phrases"


def _read(result: str) -> tuple[str, float]:
    """The text of Vosk's JSON and the logarithm of its likelihood."""
    best = json.loads(result)["alternatives"][0]
    return str(best["text"]).strip(), float(best["confidence"])


def _joined(parts: list[tuple[str, float]]) -> tuple[str, float]:
    return " ".join(text for text, _ in parts if text), sum(likely for _, likely in parts)
