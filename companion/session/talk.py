"""A word outside the procedure, before it begins or after it has ended: said to its end, unless a key silences it."""

from companion.ports.clock import Clock
from companion.ports.voice import Voice
from companion.session.display import Keys

_TICK_MS = 20


class Talk:
    """Speaks while nothing else goes on."""

    def __init__(self, voice: Voice, clock: Clock, keys: Keys) -> None:
        self._voice = voice
        self._clock = clock
        self._keys = keys

    def say(self, *texts: str) -> None:
        """Say them one after the other and return when the last is over. A typed line silences all of them."""
        for text in texts:
            speaking = self._voice.start(text)
            while not speaking.done():
                if self._keys.interrupts and self._keys.poll():
                    speaking.stop()
                    return
                self._clock.wait_ms(_TICK_MS)
