"""A voice without sound: the prompt is on the screen. At a person's own pace it is done at once; where time is only
played, when it has had time to be read."""

from companion.ports.clock import Clock
from companion.ports.voice import Sign, Speaking

READING_WORDS_PER_S = 4.0
"""About 240 words a minute, the usual figure for adults reading silently (Brysbaert 2019; from memory, verify)."""

_SHORTEST_MS = 300

AT_ONCE = None
"""The pace where a person sits before the screen: nobody waits for what nobody hears."""


class _Reading:
    def __init__(self, clock: Clock, until_ms: int, fault: str | None) -> None:
        self._clock = clock
        self._until_ms = until_ms
        self._fault = fault
        self._stopped = False

    def done(self) -> bool:
        return self._stopped or self._clock.now_ms() >= self._until_ms

    def stop(self) -> None:
        self._stopped = True

    def fault(self) -> str | None:
        return self._fault


class TextVoice:
    """Makes no sound. For machines without a voice (`AT_ONCE`), and for simulated time."""

    name = "text only"

    def __init__(self, clock: Clock, words_per_s: float | None = READING_WORDS_PER_S) -> None:
        if words_per_s is not None and words_per_s <= 0:
            raise ValueError(f"words_per_s is {words_per_s}; it must be above 0")
        self._clock = clock
        self._words_per_s = words_per_s

    def start(self, text: str, fault: str | None = None) -> _Reading:
        """Begin the reading time of `text`; `fault` says why there is no sound where there should be."""
        reading_ms = 0
        if self._words_per_s is not None:
            reading_ms = max(_SHORTEST_MS, round(1000 * len(text.split()) / self._words_per_s))
        return _Reading(self._clock, self._clock.now_ms() + reading_ms, fault)

    def sign(self, sign: Sign) -> Speaking:
        """Done at once."""
        return _Reading(self._clock, self._clock.now_ms(), None)

    def close(self) -> None:
        """Nothing is held open."""
