"""A word outside the procedure, before it begins or after it has ended: said to its end, and answered from a few
phrases, by voice or keyboard."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from companion.conversation.display import Display, Keys
from companion.conversation.ear import Ear
from companion.conversation.signs import Signs
from companion.errors import HearingError
from companion.machine.asking import why_not
from companion.ports.clock import Clock
from companion.ports.recogniser import Expected
from companion.ports.sound import Block, Ended, Microphone
from companion.ports.voice import Sign, Voice
from companion.procedure.kinds.base import Say
from companion.session.events import By
from companion.voice.prompts import HOLD_OFF_MS

SILENT_MS = 20_000
_TICK_MS = 20
_TRIES = 2


@dataclass(frozen=True)
class Answer:
    """One of the phrases that were allowed."""

    phrase: str
    by: By


class Talk:
    """Speaks while nothing else goes on."""

    def __init__(self, voice: Voice, clock: Clock, keys: Keys) -> None:
        self._voice = voice
        self._clock = clock
        self._keys = keys

    def sign(self, sign: Sign) -> None:
        """A short tone; returns when it is over."""
        sounding = self._voice.sign(sign)
        while not sounding.done():
            self._clock.wait_ms(_TICK_MS)

    def say(self, *texts: str) -> str:
        """Say them one after the other and return when the last is over. A typed line silences all of them and is
        given back; else nothing is."""
        for text in texts:
            speaking = self._voice.start(text)
            while not speaking.done():
                lines = self._keys.poll() if self._keys.interrupts else []
                if lines:
                    speaking.stop()
                    return lines[0].strip()
                self._clock.wait_ms(_TICK_MS)
        return ""


class Asking:
    """Asks one thing at a time. Only what is clearly one of the phrases is an answer."""

    def __init__(
        self,
        talk: Talk,
        display: Display,
        keys: Keys,
        clock: Clock,
        ear: Ear,
        microphone: Microphone,
        decoys: Callable[[tuple[str, ...]], tuple[str, ...]],
        on_turn: Callable[[], None] = lambda: None,
    ) -> None:
        """`on_turn` is called each time somebody may answer."""
        self._talk = talk
        self._display = display
        self._keys = keys
        self._clock = clock
        self._ear = ear
        self._microphone = microphone
        self._decoys = decoys
        self._on_turn = on_turn
        self._signs = Signs()

    def ask(self, text: str, phrases: Sequence[str]) -> Answer | None:
        """The answer; None when it stayed unclear, nobody spoke for a good while, or nothing can be heard any more."""
        allowed = tuple(phrases)
        for tries in range(_TRIES):
            said = ("Not clearly heard. " if tries else "") + text
            self._display.says(Say(said))
            typed = self._talk.say(said)
            answer = (self._typed(typed, allowed) if typed else None) or self._listen(allowed)
            if isinstance(answer, Answer):
                self._display.heard(answer.phrase, answer.by)
                return answer
            if answer != "unclear":
                return None
        return None

    def _listen(self, phrases: tuple[str, ...]) -> Answer | str:
        """The answer, or why there is none: `unclear` or `silence`."""
        self._open(phrases)
        self._display.listening(phrases)
        self._on_turn()
        since = self._clock.now_ms()
        while self._clock.now_ms() - since < SILENT_MS:
            for line in self._keys.poll():
                answer = self._typed(line, phrases)
                if answer is not None:
                    return answer
            try:
                sound = self._microphone.read(_TICK_MS / 1000)
            except HearingError:
                return "silence"
            if isinstance(sound, Ended):
                return "silence"
            if not isinstance(sound, Block):
                continue
            hearing = self._ear.hear(sound.samples)
            if self._ear.busy:
                since = self._clock.now_ms()
            if hearing is None:
                continue
            self._ear.deafen()
            if hearing.verdict == "accepted" and hearing.phrase is not None:
                return Answer(hearing.phrase, "voice")
            self._display.missed(why_not(hearing.verdict, hearing.nearest, hearing.reason, phrases))
            if self._signs.due(self._clock.now_ms(), 0, held=False):
                self._talk.sign("not taken")
            if hearing.verdict == "unclear":
                return "unclear"
            self._open(phrases)
        self._ear.deafen()
        return "silence"

    def _open(self, phrases: tuple[str, ...]) -> None:
        self._clock.wait_ms(HOLD_OFF_MS)
        self._microphone.flush()
        self._ear.expect(Expected(phrases, self._decoys(phrases), strict=True))

    def _typed(self, line: str, phrases: tuple[str, ...]) -> Answer | None:
        words = " ".join(line.lower().strip(" .!?").split())
        if words in phrases:
            return Answer(words, "key")
        if words:
            self._display.missed("that is none of the answers")
        return None
