"""A question outside the procedure, before it begins: said to its end, and answered from a few phrases, by voice or
keyboard."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from companion.conversation.ear import Ear
from companion.conversation.room import Room
from companion.conversation.turns import SILENT_MS, Turns
from companion.machine.asking import why_not
from companion.ports.recogniser import Expected, Hearing
from companion.procedure.kinds.base import Say
from companion.session.events import By
from companion.speech.language import tell

_TRIES = 2


@dataclass(frozen=True)
class Answer:
    """One of the phrases that were allowed."""

    phrase: str
    by: By


class _Unwritten:
    """There is no record yet; what becomes of sound and voice is shown."""

    def append(self, kind: str, body: Mapping[str, Any], at_ms: int) -> None:
        """Nothing is kept."""

    def close(self) -> None:
        """Nothing is open."""


class Asking(Turns[Hearing]):
    """Asks one thing at a time. Only what is clearly one of the phrases is an answer."""

    _ear: Ear

    def __init__(self, room: Room, ear: Ear) -> None:
        super().__init__(room, ear, _Unwritten(), "en", ear.spotter)
        self._phrases: tuple[str, ...] = ()
        self._answer: Answer | Literal["unclear", "silence"] | None = None

    def ask(self, text: str, phrases: Sequence[str]) -> Answer | None:
        """The answer; None when it stayed unclear, nobody spoke for a good while, or nothing can be heard any more."""
        self._phrases = tuple(phrases)
        for tries in range(_TRIES):
            self._answer = None
            self._say(Say(tell("en", "not clear", text=text) if tries else text))
            self._hold()
            while self._answer is None:
                self.turn()
            if isinstance(self._answer, Answer):
                self.room.display.heard(self._answer.phrase, self._answer.by)
                return self._answer
            if self._answer == "silence":
                return None
        return None

    @property
    def over(self) -> bool:
        return self._answer is not None

    def _typed(self, line: str) -> None:
        words = " ".join(line.lower().strip(" .!?").split())
        if words in self._phrases:
            self._answer = Answer(words, "key")
        else:
            self.room.display.missed(tell("en", "no answer"))

    def _open(self) -> bool:
        self.room.display.listening(self._phrases)
        self._ear.expect(Expected(self._phrases, strict=True))
        return True

    def _hear(self, hearing: Hearing) -> None:
        if hearing.verdict == "accepted" and hearing.phrase is not None:
            self._answer = Answer(hearing.phrase, "voice")
            return
        self.room.display.missed(why_not(hearing.verdict, hearing.nearest, hearing.reason, self._phrases, "en"))
        self._sign("not taken")
        self._hold()
        if hearing.verdict == "unclear":
            self._answer = "unclear"

    def _idle(self) -> None:
        if self._silent_ms() >= SILENT_MS:
            self._answer = "silence"

    def _without_microphone(self, why: str) -> None:
        self._answer = self._answer or "silence"  # without one there is no sound to keep either
