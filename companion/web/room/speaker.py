"""Prompts said again by this machine's own voice while a session is played."""

import threading
from collections.abc import Callable, Sequence

from companion.errors import CompanionError
from companion.ports.clock import Clock
from companion.ports.voice import Speaking, Voice

_TICK_MS = 20


class Speaker:
    """Opens the voice when it is first needed. Whoever speaks next makes the one before fall silent."""

    def __init__(self, open_voice: Callable[[str], Voice], clock: Clock) -> None:
        """`open_voice` takes a language (BCP 47)."""
        self._open = open_voice
        self._clock = clock
        self._lock = threading.Lock()
        self._voices: dict[str, Voice] = {}
        self._speaking: Speaking | None = None
        self._turn = 0

    def say(self, texts: Sequence[str], language: str) -> str:
        """Say them and return when the last is out, or when somebody else's turn has come. Returns what went wrong, in
        a sentence; empty when nothing did."""
        with self._lock:
            self._hush()
            self._turn += 1
            turn = self._turn
            try:
                voice = self._voices.get(language) or self._open(language)
            except CompanionError as fault:
                return str(fault)
            self._voices[language] = voice
        for text in texts:
            with self._lock:
                if turn != self._turn:
                    return ""
                speaking = self._speaking = voice.start(text)
            while not speaking.done():
                self._clock.wait_ms(_TICK_MS)
            fault_told = speaking.fault()
            if fault_told:
                return fault_told
        return ""

    def hush(self) -> None:
        """Fall silent at once."""
        with self._lock:
            self._turn += 1
            self._hush()

    def close(self) -> None:
        """Fall silent and let the voices go."""
        self.hush()
        with self._lock:
            for voice in self._voices.values():
                voice.close()
            self._voices.clear()

    def _hush(self) -> None:
        if self._speaking is not None:
            self._speaking.stop()
            self._speaking = None
