"""While the program speaks only one word matters: stop.

The program's own voice is taken out of the sound first. What then stands above the room's noise, as a short utterance
of its own, is judged by the recogniser with that one word allowed. The bar is lower than for a reply: cancelling the
echo takes something from the speaker too, and falling silent for nothing is a small harm.
"""

from collections.abc import Callable

from companion.hearing.echo import EchoCanceller
from companion.hearing.endpoint import Endpointer, EndpointSettings, SpeechBegan, SpeechEnded, SpeechGoesOn
from companion.hearing.vad import SpeechDetector
from companion.ports.recogniser import Expected, Listening, Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples

WORD = "stop"

_ENOUGH = {"pocketsphinx": -6.5, "scorer": -4.0}
"""The margin that is enough, by engine; others go by their verdict. Measured by `tests.bench.stopword`: PocketSphinx
hears the word over an echo more often than the scorer."""

_SHORTEST_MS = 150
"""What is left of the program's own voice comes in shorter bits than the word takes."""

_TALK_MS = 300
"""What is left of the program's own voice now and then passes for a shorter word."""

_SETTINGS = EndpointSettings(
    end_silence_ms=190, pause_ms=95, start_ms=60, pre_roll_ms=250, longest_ms=1500, above_noise_db=6.0
)


class StopSpotter:
    """Fed with what is heard while the program speaks; one object for a whole session."""

    def __init__(
        self, recogniser: Recogniser, detector: SpeechDetector, reference: Callable[[], Samples] | None = None
    ) -> None:
        """`reference` gives what the loudspeaker has played since it was last asked, at 16 kHz; None where the program
        makes no sound. The detector must not be shared; the recogniser may be, as long as nobody else uses it now."""
        self._recogniser = recogniser
        self._endpointer = Endpointer(detector, _SETTINGS)
        self._expected = Expected((WORD,))
        self._listening: Listening | None = None
        self._talked = False
        self._canceller: EchoCanceller | None = None
        self.deaf = False
        """True where the program's voice cannot be taken out: its own prompts would stop it, so only keys do."""
        if reference is not None:
            try:
                self._canceller = EchoCanceller(reference)
            except ImportError:
                self.deaf = True

    def feed(self, samples: Samples) -> bool:
        """The next sound from the microphone; True once when somebody has just said the word."""
        if self.deaf:
            return False
        if self._canceller is not None:
            samples, began = self._canceller.clean(samples)
            if began:
                self.reset()
        said = False
        for turn in self._endpointer.feed(samples):
            said = self._take(turn) or said
        return said

    def talked(self) -> bool:
        """Whether somebody has said something else than the word since this was last asked: too early to be heard."""
        talked, self._talked = self._talked, False
        return talked

    def reset(self) -> None:
        """What follows does not continue what came before."""
        self._endpointer.reset()
        self._listening = None

    def _take(self, turn: object) -> bool:
        if isinstance(turn, SpeechBegan):
            if self._canceller is not None and not self._canceller.works:
                return False  # this may be the program's own voice
            self._listening = self._recogniser.listen(self._expected)
            self._listening.feed(turn.samples)
        elif isinstance(turn, SpeechGoesOn) and self._listening is not None:
            self._listening.feed(turn.samples)
        elif isinstance(turn, SpeechEnded) and self._listening is not None:
            hearing = self._listening.finish()
            self._listening = None
            enough = _ENOUGH.get(hearing.engine)
            if self._canceller is not None and self._canceller.own_voice(*_stretch(turn)):
                return False
            sure = hearing.margin >= enough if enough is not None else hearing.verdict == "accepted"
            said = sure and hearing.nearest == WORD and not turn.cut and turn.duration_ms >= _SHORTEST_MS
            self._talked = self._talked or (not said and turn.duration_ms >= _TALK_MS)
            return said
        return False


def _stretch(turn: SpeechEnded) -> tuple[int, int]:
    """How many samples an utterance had, and how many came after it."""
    return turn.duration_ms * SAMPLE_RATE // 1000, turn.quiet_ms * SAMPLE_RATE // 1000
