"""From blocks of sound to what was said: free speech, written down one utterance at a time.

Where a value or a phrase is due, the same sound is also asked closed, and a sure answer stands instead of the writing.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol, cast

import numpy as np

from companion.conversation.parts import Parts, Wanted, open_parts
from companion.errors import HearingError
from companion.hearing.endpoint import Endpointer, EndpointSettings, SpeechBegan, SpeechEnded, SpeechGoesOn
from companion.hearing.engines import open_engine
from companion.hearing.vad import best_detector
from companion.ports.clock import Clock
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded

NO_MODEL = "to be heard from memory, fetch the model that writes down speech: companion models fetch scorer"
FOR_TALK = EndpointSettings(end_silence_ms=800, longest_ms=25_000)
"""People who think aloud pause within a sentence; the model takes 30 s at most."""


class Transcript(Protocol):
    """What was said, as written."""

    @property
    def text(self) -> str: ...


class Dictation(Protocol):
    """Writes down an utterance of at most 30 s."""

    name: str

    def dictate(self, samples: Samples) -> Transcript:
        """Mono 16-bit samples at 16 kHz."""

    def decide(self, samples: Samples, expected: Expected) -> Hearing:
        """Which of the expected phrases it was, or none."""

    def close(self) -> None: ...


Closed = Callable[[str], tuple[str, ...]]
"""From what was written to the sentences that may have been said instead; none where nothing closed is due."""


def _nothing_closed(_written: str) -> tuple[str, ...]:
    return ()


@dataclass(frozen=True)
class Utterance:
    """`began_ms_ago` and `ended_ms_ago` count back from the end of the samples just heard."""

    text: str
    began_ms_ago: int
    ended_ms_ago: int


class TalkEar:
    """Joins an endpointer and a dictation."""

    def __init__(self, dictation: Dictation, endpointer: Endpointer) -> None:
        self._dictation = dictation
        self._endpointer = endpointer
        self._endpointer.settings = FOR_TALK
        self._parts: list[Samples] = []
        self.closed: Closed = _nothing_closed
        """What the step now due expects; set by whoever knows it."""

    def close(self) -> None:
        self._dictation.close()

    @property
    def busy(self) -> bool:
        """True while somebody is speaking."""
        return bool(self._parts)

    def deafen(self) -> None:
        """Forget an utterance under way (the program speaks)."""
        self._parts = []
        self._endpointer.reset()

    def hear(self, samples: Samples) -> Utterance | None:
        """The next samples; an utterance when one ends in them. Empty when no words were in it."""
        ended = None
        for turn in self._endpointer.feed(samples):
            if isinstance(turn, SpeechBegan):
                self._parts = [turn.samples]
            elif isinstance(turn, SpeechGoesOn) and self._parts:
                self._parts.append(turn.samples)
            elif isinstance(turn, SpeechEnded) and self._parts:
                ended = self._written(turn)
        return ended

    def _written(self, turn: SpeechEnded) -> Utterance:
        sound = np.concatenate(self._parts)
        self._parts = []
        text = self._heard(sound)
        whole_ms = 1000 * sound.size // SAMPLE_RATE
        return Utterance(text, max(whole_ms, turn.duration_ms + turn.quiet_ms), turn.quiet_ms)

    def _heard(self, sound: Samples) -> str:
        written = self._dictation.dictate(sound).text.strip()
        phrases = self.closed(written)
        if not phrases:
            return written
        hearing = self._dictation.decide(sound, Expected(phrases, strict=True))
        return hearing.phrase if hearing.verdict == "accepted" and hearing.phrase is not None else written


def open_ear(language: str) -> TalkEar:
    """An ear with the model that writes down speech. Raises HearingError with the line that fetches it."""
    try:
        dictation = cast(Dictation, open_engine("scorer", None, language))
    except HearingError as fault:
        raise HearingError(NO_MODEL) if "is not here" in str(fault) else fault from fault
    return TalkEar(dictation, Endpointer(best_detector()))


def open_rehearsed(loaded: Loaded, clock: Clock, wanted: Wanted) -> AbstractContextManager[Parts[TalkEar]]:
    """The parts of a rehearsal."""

    def ear_or_why(_: Voice) -> TalkEar | str:
        try:
            return open_ear(loaded.procedure.language)
        except HearingError as fault:
            if wanted.microphone is not None:
                raise
            return str(fault)

    return open_parts(loaded.procedure.language, clock, wanted, ear_or_why, "type what you would say")
