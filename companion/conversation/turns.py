"""The one loop that takes turns: keys, voice, sound, and what falls due when nobody speaks. One thread.

A guided session, the question for consent before it and a rehearsal are layers on this: they say what a turn means.
"""

from abc import ABC, abstractmethod
from typing import Generic, Protocol, TypeVar

from companion.conversation.room import Room
from companion.conversation.signs import Signs, Spotter
from companion.errors import HearingError
from companion.ports.sink import RecordSink
from companion.ports.sound import Block, Ended, Samples
from companion.ports.voice import Sign
from companion.procedure.kinds.base import Say
from companion.record.privacy import held_back
from companion.speech.language import tell
from companion.voice.prompts import Prompts
from companion.voice.text_voice import TextVoice

SILENT_MS = 20_000
"""Nobody has answered when it was somebody's turn for so long without a word."""

_TICK_MS = 20
"""How long a turn of the loop waits for sound or a key."""

T_co = TypeVar("T_co", covariant=True)
T = TypeVar("T")


class Hears(Protocol[T_co]):
    """From blocks of sound to what was said, one utterance at a time."""

    @property
    def busy(self) -> bool:
        """True while somebody is speaking."""

    def deafen(self) -> None:
        """Forget an utterance under way."""

    def hear(self, samples: Samples) -> T_co | None:
        """The next samples; what was said when an utterance ends in them."""


class Turns(ABC, Generic[T]):
    """Takes turns until `over`. `T` is what the ear hears."""

    def __init__(
        self, room: Room, ear: Hears[T] | None, sink: RecordSink, language: str, spotter: Spotter | None = None
    ) -> None:
        """`ear` is None where nothing is heard. `language` is a BCP 47 tag: what is shown is told in it. `spotter` is
        fed what is heard while the program speaks."""
        self.room = room
        self._language = language
        self._ear = ear
        self._microphone = None if ear is None else room.microphone
        self._sink = sink
        self._spotter = spotter
        self._prompts = Prompts(room.voice, room.clock, lambda fault: self._fault("voice", fault))
        self._signs = Signs()
        self._base_ms = -room.clock.now_ms()
        self._since_ms = room.clock.now_ms()
        self._faults_told: set[str] = set()

    # What a turn means

    @property
    @abstractmethod
    def over(self) -> bool:
        """Whether nothing more is taken."""

    @abstractmethod
    def _typed(self, line: str) -> None:
        """A line was typed; it is not empty. The program has fallen silent for it."""

    @abstractmethod
    def _hear(self, heard: T) -> None:
        """An utterance ended."""

    @abstractmethod
    def _open(self) -> bool:
        """It is somebody's turn: show it, and say to the ear what is expected. False where nothing can be said."""

    @abstractmethod
    def _without_microphone(self, why: str) -> None:
        """It is gone; the keyboard is left."""

    def _alone(self) -> None:
        """Nobody can answer any more: no microphone, and no more keys."""

    def _stopped(self) -> None:
        """Somebody said stop while the program spoke; it has fallen silent."""

    def _after_voice(self) -> None:
        """Once a turn, after the voice has begun to answer, so that no reply waits for it."""

    def _idle(self) -> None:
        """Once a turn while the program is silent."""

    def _row(self) -> tuple[int, bool]:
        """How many utterances in a row were not taken, and whether people most likely talk with each other."""
        return 0, False

    # The loop

    @property
    def done(self) -> bool:
        """Whether it is over and the last word is said."""
        return self.over and self._prompts.quiet

    def now_ms(self) -> int:
        """The session time."""
        return self._base_ms + self.room.clock.now_ms()

    def turn(self) -> None:
        """Once round."""
        self._type()
        self._prompts.go_on()
        self._after_voice()
        self._listen()
        if self._prompts.quiet and not self.over:
            if self.room.keys.ended and self._microphone is None:
                self._alone()
            self._idle()

    def _say(self, say: Say) -> None:
        """In its turn, spoken and shown."""
        self._prompts.add(say.text, lambda: self.room.display.says(say))

    def _silent_ms(self) -> int:
        """For how long it has been somebody's turn and nobody has spoken."""
        waits = self._prompts.deaf or (self._ear is not None and self._ear.busy)
        return 0 if waits else self.room.clock.now_ms() - self._since_ms

    def _fault(self, what: str, detail: str) -> None:
        """Something outside the conversation went wrong: it is in the record and on the screen, once."""
        if detail in self._faults_told:
            return
        self._faults_told.add(detail)
        kept = held_back(detail, self.room.clock.utc().date())  # the name of a device is its owner's own words
        self._sink.append("fault", {"what": what, "detail": kept}, self.now_ms())
        self.room.display.notice(detail)

    def _sign(self, sign: Sign, near: bool = False) -> bool:
        """A tone, where one is due."""
        due = self._signs.due(self.room.clock.now_ms(), *self._row(), sign, near)
        if due:
            self._prompts.sign(sign)
        return due

    def _type(self) -> None:
        keys = self.room.keys
        if not keys.interrupts and self._prompts.deaf:
            return
        for line in keys.poll():
            self._prompts.hush()
            if line.strip() and not self.over:
                self._typed(line)

    def _listen(self) -> None:
        if self._microphone is None:
            self._take_turn()
            self.room.clock.wait_ms(_TICK_MS)
            return
        try:
            sound = self._microphone.read(_TICK_MS / 1000)
        except HearingError as fault:
            self._lose_microphone(str(fault))
            return
        if isinstance(sound, Ended):
            self._lose_microphone(tell(self._language, "sound over", name=self._microphone.name))
        elif isinstance(sound, Block):
            if sound.lost:
                self._fault("sound", tell(self._language, "samples lost", count=sound.lost))
            self._take_block(sound.samples)

    def _take_block(self, samples: Samples) -> None:
        if self._prompts.speaking:
            if self._spotter is not None and self._spotter.feed(samples):
                self._prompts.hush()
                self._spotter.talked()  # what was said before that is of no account now
                self._stopped()
        elif self._prompts.deaf:
            self._take_turn()
        elif self._ear is not None:
            heard = self._ear.hear(samples)
            if self._ear.busy or heard is not None:
                self._since_ms = self.room.clock.now_ms()
            if heard is not None:
                self._hear(heard)

    def _take_turn(self) -> None:
        """When the program has been silent for the hold-off, somebody may answer."""
        if not self._prompts.turn_begins():
            return
        if self._spotter is not None and self._spotter.talked() and not self.over:
            self.room.display.missed(tell(self._language, "came too early"))
            if self._sign("too early"):
                self._prompts.hold()
                return
        self._since_ms = self.room.clock.now_ms()
        if self._ear is not None and self._microphone is not None:
            self._microphone.flush()
            self._ear.deafen()
        if self._open():
            self.room.your_turn()

    def _hold(self) -> None:
        """Nobody is heard until the program has said what it has to say."""
        if self._ear is not None:
            self._ear.deafen()
        self._prompts.hold()

    def _lose_microphone(self, why: str) -> None:
        self._microphone = None
        self._without_microphone(why)


def announce(room: Room, *texts: str) -> None:
    """Where there is a voice, say these to the end, outside any record. A key silences all of them."""
    prompts = Prompts(room.voice, room.clock, lambda _: None)
    for text in texts if not isinstance(room.voice, TextVoice) else ():
        prompts.add(text, lambda: None)
    speak_out(prompts, room)


def speak_out(prompts: Prompts, room: Room) -> None:
    """Say what is still to be said, to nobody who answers. A key silences it."""
    while not prompts.quiet:
        prompts.go_on()
        if room.keys.interrupts and room.keys.poll():
            prompts.hush()
        room.clock.wait_ms(_TICK_MS)
