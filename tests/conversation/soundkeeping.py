"""A short session by voice in simulated time that may keep its sound: the real recogniser, real endpointing, flite's
voices for the people in the room."""

import shutil
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.consent import Given
from companion.conversation.guided import Session
from companion.conversation.keeper import Keeper
from companion.conversation.keeping import agreement, begin_keeping, go_on_keeping
from companion.conversation.parts import ear_for, finish, opening_of
from companion.conversation.room import NoKeys
from companion.conversation.room import Room as Place
from companion.hearing.engines import open_engine
from companion.hearing.room_files import RoomOfClips
from companion.machine.machine import Machine
from companion.procedure.kinds.base import Say
from companion.procedure.loading import load
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.review.timeline import timeline
from companion.session.events import Resumed
from companion.session.state import State
from companion.voice.text_voice import TextVoice
from tests.conversation.rig import Screen
from tests.hearing.synthetic_speech import flite
from tests.realparts import need

DATA = Path(__file__).parents[1] / "data"
ALONE: tuple[str, ...] = ("one person here", "four one", "i agree to recording")
SHORT: Mapping[str, Sequence[str]] = {
    "Lay everything out, then tell me.": ["tray is complete"],
    "2 seconds have passed. Are they dry?": ["hands are dry"],
    "First the name.": ["name matches"],
    "Now the day of birth.": ["birth date matches"],
    "How much is ordered?": ["eighteen units"],
    "Heard: 18 units. Yes or no?": ["exactly right"],
    "Sign with your tag.": ["four one"],
}


class Heard(Screen):
    """A screen that remembers the last thing said."""

    last = ""

    def says(self, say: Say) -> None:
        super().says(say)
        self.last = say.text


class Room:
    """People who answer what was last asked, in turn; the last answer is given as often as it is asked for."""

    def __init__(self, home: Path, procedure: Path = DATA / "short.yaml") -> None:
        need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
        self.loaded = load(procedure)
        self.clock = SimulatedClock(datetime(2030, 3, 4, 8, tzinfo=UTC))
        self.screen = Heard()
        self.sound = RoomOfClips(self.clock)
        self.ear = ear_for("en-US", open_engine("pocketsphinx", None, "en-US"))
        self.home = home
        self.said: list[str] = []

    def agree(self, replies: Sequence[str], performer: str = "") -> Given | str:
        """Ask everybody; `replies` are said one after the other, and then nothing."""
        left = deque(replies)

        def your_turn() -> None:
            if left:
                self._speak(left.popleft())

        return agreement(self.loaded.procedure, self._place(your_turn), self.ear, performer)

    def begin(self, reached: Given | str | None, replies: Mapping[str, Sequence[str]]) -> Session:
        """A session that has begun, with a record of its own."""
        opening = opening_of(self.loaded, "rehearsal")
        self.writer = RecordWriter.create(self.home / "records", opening, self.clock, own_key(self.home / "keys"))
        language = self.loaded.procedure.language
        keeper = None if reached is None else begin_keeping(reached, self.writer, self._place(), language)
        session = self._session(replies, keeper)
        session.begin(started(reached.tags[0] if isinstance(reached, Given) else "41", self.clock, "rehearsal"))
        return session

    def go_on(self, path: Path, replies: Mapping[str, Sequence[str]]) -> Session:
        """The same after an interruption, as `companion resume` does it."""
        found = read_record(path)
        self.clock.wait_ms(60_000)
        self.writer = RecordWriter.reopen(path, self.clock, own_key(self.home / "keys"))
        keeper = go_on_keeping(found, self.writer, self.screen.notice)
        session = self._session(replies, keeper, timeline(found).state)
        session.begin(Resumed(at_ms=session.now_ms()))
        return session

    def _session(
        self, replies: Mapping[str, Sequence[str]], keeper: Keeper | None, state: State | None = None
    ) -> Session:
        left = {prompt: list(lines) for prompt, lines in replies.items()}

        def your_turn() -> None:
            self.sound.hush()
            lines = left.get(self.screen.last, [])
            if lines:
                self._speak(lines.pop(0) if len(lines) > 1 else lines[0])

        machine = Machine(self.loaded.procedure)
        return Session(machine, self._place(your_turn), self.writer, self.ear, state, keeper)

    def _place(self, your_turn: Callable[[], None] = lambda: None) -> Place:
        return Place(self.clock, TextVoice(self.clock), self.screen, NoKeys(), self.sound, your_turn)

    def end(self, session: Session) -> Path:
        session.run()
        finish(session, self.writer)
        self.close()
        return self.writer.path

    def close(self) -> None:
        self.writer.close()
        self.ear.close()

    def _speak(self, text: str) -> None:
        self.said.append(text)
        self.sound.play(flite(text), 400)
