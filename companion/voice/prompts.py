"""What the program has still to say, in turn, and from when on somebody may answer."""

from collections import deque
from collections.abc import Callable

from companion.ports.clock import Clock
from companion.ports.voice import Sign, Speaking, Voice

HOLD_OFF_MS = 350
"""Deaf this long after the last sound of a prompt, so that its echo is not taken for a reply."""

Show = Callable[[], None]
"""Puts a prompt on the screen."""

Begin = Callable[[], Speaking]


class Prompts:
    """A queue before a voice. A prompt is shown when it is begun, or when it is silenced before that."""

    def __init__(self, voice: Voice, clock: Clock, on_fault: Callable[[str], None]) -> None:
        self._voice = voice
        self._clock = clock
        self._on_fault = on_fault
        self._queue: deque[tuple[Begin, Show]] = deque()
        self._speaking: Speaking | None = None
        self._deaf_until_ms: int | None = None

    def add(self, text: str, show: Show) -> None:
        self._queue.append((lambda: self._voice.start(text), show))

    def sign(self, sign: Sign) -> None:
        """A tone in its turn, like a prompt; the screen has its own words for it."""
        self._queue.append((lambda: self._voice.sign(sign), lambda: None))

    @property
    def speaking(self) -> bool:
        """True while a prompt is on its way out."""
        return self._speaking is not None

    @property
    def quiet(self) -> bool:
        """True when nothing is said or waits to be."""
        return self._speaking is None and not self._queue

    @property
    def deaf(self) -> bool:
        """True until `turn_begins`."""
        return self._deaf_until_ms is not None

    def hold(self) -> None:
        """Nobody is heard from now until all is said."""
        self._deaf_until_ms = self._clock.now_ms()

    def turn_begins(self) -> bool:
        """True once, when all is said and the hold-off is over."""
        if self._deaf_until_ms is None or not self.quiet or self._clock.now_ms() < self._deaf_until_ms:
            return False
        self._deaf_until_ms = None
        return True

    def hush(self) -> None:
        """Fall silent at once and drop what was still to be said; it is shown."""
        if self._speaking is not None:
            self._speaking.stop()
        for _, show in self._queue:
            show()
        self._queue.clear()

    def go_on(self) -> None:
        """Begin the next prompt when the one before is over."""
        if self._speaking is not None:
            if not self._speaking.done():
                return
            fault = self._speaking.fault()
            if fault:
                self._on_fault(fault)
            self._speaking = None
            self._deaf_until_ms = self._clock.now_ms() + HOLD_OFF_MS
        if self._queue:
            begin, show = self._queue.popleft()
            show()
            self._speaking = begin()
