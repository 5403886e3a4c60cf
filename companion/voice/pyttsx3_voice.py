"""The voice: pyttsx3 in a process of its own, a cache of what it has said, and our own output stream.

A prompt whose voice hangs or dies is done within three seconds, with a fault: it is on the screen. The process is
started again once; a second failure leaves the session with text.
"""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import soxr

from companion.errors import VoiceError
from companion.ports.clock import Clock
from companion.ports.sound import Samples
from companion.ports.voice import Sign, Speaking
from companion.speech.speakable import speakable
from companion.voice.cache import Sound, SpeechCache
from companion.voice.output import Loudspeaker, Playback
from companion.voice.process import SpeechProcess
from companion.voice.text_voice import AT_ONCE, TextVoice
from companion.voice.tones import tone

_RENDER_LIMIT_S = 2.0
_START_LIMIT_MS = 2700
"""A prompt that does not sound by then is given up, whatever holds it: inside the three seconds promised."""

_RESTARTED = "it has been started again, and this prompt is on the screen only"
_GIVEN_UP = "prompts are on the screen only from now on"


class _Spoken:
    """One prompt: being rendered, then being played."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._since_ms = clock.now_ms()
        self._lock = threading.Lock()
        self._over = False
        self._fault: str | None = None
        self._playback: Playback | None = None

    def done(self) -> bool:
        with self._lock:
            if not self._over and self._playback is not None:
                self._over = self._playback.done()
                if self._playback.fault() is not None:
                    self._fault = f"{self._playback.fault()}; {_GIVEN_UP}"
            elif not self._over and self._clock.now_ms() - self._since_ms > _START_LIMIT_MS:
                self._fail("the voice did not begin in time; this prompt is on the screen only")
            return self._over

    def stop(self) -> None:
        with self._lock:
            self._over = True
            if self._playback is not None:
                self._playback.stop()

    def fault(self) -> str | None:
        return self._fault

    def begin(self, loudspeaker: Loudspeaker, sound: Sound) -> None:
        """Play, unless it was stopped or given up meanwhile."""
        with self._lock:
            if not self._over:
                self._playback = loudspeaker.play(sound)

    def fail(self, why: str) -> None:
        with self._lock:
            if not self._over:
                self._fail(why)

    def _fail(self, why: str) -> None:
        self._fault = why
        self._over = True


class Pyttsx3Voice:
    """Says prompts. `start` returns at once; one worker thread renders and begins to play."""

    def __init__(self, process: SpeechProcess, clock: Clock, loudspeaker: Loudspeaker, folder: Path) -> None:
        """`folder` is the cache's. The process and the loudspeaker are this voice's from now on: `close` ends them."""
        self._process: SpeechProcess | None = process
        self._voice = process.voice
        self._language = process.language
        self._rate = process.rate
        self._clock = clock
        self._loudspeaker = loudspeaker
        self._may_restart = True
        self._silenced: str | None = None
        self._text = TextVoice(clock, AT_ONCE)
        self._scratch = TemporaryDirectory(prefix="companion-voice-")
        try:
            self._cache = SpeechCache(folder)
        except OSError:  # no place to keep them: this session's own folder serves
            self._cache = SpeechCache(Path(self._scratch.name) / "cache")
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="voice")
        self.name = f"{self._voice} through {loudspeaker.name}"

    def start(self, text: str) -> Speaking:
        spoken = _Spoken(self._clock)
        words = speakable(text, self._language)
        if self._silenced is not None or not any(letter.isalnum() for letter in words):
            return self._text.start(text, self._silenced)
        self._worker.submit(self._say, words, spoken)
        return spoken

    def sign(self, sign: Sign) -> Speaking:
        spoken = _Spoken(self._clock)
        if self._silenced is not None:
            return self._text.sign(sign)
        self._worker.submit(self._begin, tone(sign, self._loudspeaker.rate), spoken)
        return spoken

    def played(self) -> Samples:
        """What the loudspeaker has played since this was last asked: the reference for cancelling its echo."""
        return self._loudspeaker.played()

    def close(self) -> None:
        self._worker.shutdown(wait=True, cancel_futures=True)
        if self._process is not None:
            self._process.close()
        self._loudspeaker.close()
        self._scratch.cleanup()

    @property
    def pid(self) -> int | None:
        """The speech process, or None when there is none any more."""
        return None if self._process is None else self._process.pid

    def _say(self, words: str, spoken: _Spoken) -> None:
        try:
            sound = self._sound(words)
        except VoiceError as fault:
            spoken.fail(f"{fault}; {_RESTARTED if self._may_restart else _GIVEN_UP}")
            self._restart(str(fault))
            return
        self._begin(sound, spoken)

    def _begin(self, sound: Sound, spoken: _Spoken) -> None:
        broken = self._loudspeaker.fault()
        if broken is not None:
            self._silenced = f"{broken}; {_GIVEN_UP}"
            spoken.fail(self._silenced)
            return
        spoken.begin(self._loudspeaker, sound)

    def _sound(self, words: str) -> Sound:
        """The samples of `words` at the loudspeaker's rate."""
        path = self._cache.path(self._voice, self._rate, words)
        found = self._cache.load(path)
        if found is None:
            if self._process is None:
                raise VoiceError("the voice has stopped working")
            made = Path(self._scratch.name) / "made.wav"
            made.unlink(missing_ok=True)
            self._process.render(words, made, _RENDER_LIMIT_S)
            found = self._cache.take_in(made, path)
        sound, rate = found
        return np.asarray(soxr.resample(sound, rate, self._loudspeaker.rate), np.float32)

    def _restart(self, why: str) -> None:
        broken, self._process = self._process, None
        if broken is not None:
            broken.close()
            if self._may_restart:
                self._may_restart = False
                with suppress(VoiceError):
                    self._process = broken.again()
        if self._process is None:
            self._silenced = f"{why}; {_GIVEN_UP}"
