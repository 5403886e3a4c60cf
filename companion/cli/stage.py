"""A scenario played into a session: simulated time, or aloud in real time."""

from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

import numpy as np
import soxr

from companion.cli.console import ConsoleDisplay, NoKeys
from companion.cli.parts import Hearing, build, finish, open_recogniser, show_record, talk_of
from companion.cli.terminal import tell
from companion.clocks import PacedClock, RealClock, SimulatedClock
from companion.conversation.display import Display
from companion.conversation.loop import Session
from companion.conversation.scenario import Players, Scenario, sounds
from companion.errors import UsageError
from companion.hearing.room_files import RoomOfClips
from companion.machine.machine import Machine
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
from companion.record.writer import RecordWriter
from companion.session.state import State
from companion.voice.text_voice import TextVoice

LEAD_MS = 400
"""People leave a little time before they answer."""


class Stage:
    """Everything a scenario's session needs, made from its files."""

    def __init__(
        self,
        scenario: Scenario,
        folder: Path,
        loaded: Loaded,
        start: datetime,
        engine: str | None,
        aloud: bool,
        paced: bool = False,
    ) -> None:
        """`start` is the wall time the session begins or goes on at; `paced` takes real time also without a sound.
        Raises HearingError."""
        self.clock: SimulatedClock = PacedClock(start) if aloud or paced else SimulatedClock(start)
        self._scenario = scenario
        self._loaded = loaded
        self._sounds = sounds(scenario, folder)
        self._room = RoomOfClips(self.clock)
        self._hearing = Hearing(open_recogniser(loaded, engine, None), self._room)
        self._voice: Voice = TextVoice(self.clock)
        self._play: Callable[[Samples], None] | None = None
        if aloud:
            self._voice, self._play = _aloud(loaded)

    def session(self, writer: RecordWriter, state: State | None = None, display: Display | None = None) -> Session:
        """The session, with the scenario's people in the room; shown on the terminal unless there is a `display`."""
        players = Players(self._scenario, Machine(self._loaded.procedure))

        def on_turn(now: State) -> None:
            line = players.next(now)
            self._room.hush()  # what was still to be said answered something else
            if line is None or not line.text:
                return
            sound = self._sounds[line.file_name()]
            self._room.play(sound, line.after * 1000 + LEAD_MS)
            if self._play is not None and not line.after:
                self._play(sound)

        return build(
            self._loaded,
            writer,
            self.clock,
            self._voice,
            display or ConsoleDisplay(),
            NoKeys(),
            self._hearing,
            state=state,
            on_turn=on_turn,
        )

    def perform(
        self,
        writer: RecordWriter,
        begin: Callable[[Session], None],
        state: State | None = None,
        display: Display | None = None,
    ) -> None:
        """The whole session, from `begin` to its receipt; lets go of the record whatever happens."""
        with closing(writer):
            show_record(writer)
            session = self.session(writer, state, display)
            begin(session)
            session.run()
            print()
            finish(session, writer, tell, talk_of(self._voice, self.clock, NoKeys()))

    def close(self) -> None:
        self._hearing.close()
        self._voice.close()


def _aloud(loaded: Loaded) -> tuple[Voice, Callable[[Samples], None]]:
    """The voice, and a loudspeaker for what the people say."""
    from companion.voice.best import open_voice
    from companion.voice.output import Loudspeaker

    clock = RealClock()
    voice, missing = open_voice(loaded.procedure.language, clock)
    if missing:
        raise UsageError("; ".join(missing))
    loudspeaker = Loudspeaker(clock)

    def play(sound: Samples) -> None:
        resampled = soxr.resample(sound.astype(np.float32) / 32768, SAMPLE_RATE, loudspeaker.rate)
        loudspeaker.play(resampled)

    return voice, play
