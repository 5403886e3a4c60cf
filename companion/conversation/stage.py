"""A scenario played into a session: simulated time, or aloud in real time."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import soxr

from companion.clocks import RealClock, SimulatedClock
from companion.conversation.guided import Session
from companion.conversation.parts import ear_for, open_recogniser
from companion.conversation.room import Display, NoKeys, Room
from companion.conversation.scenario import Players, Scenario, sounds
from companion.errors import UsageError
from companion.hearing.room_files import RoomOfClips
from companion.machine.machine import Machine
from companion.ports.sink import RecordSink
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
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
        clock: SimulatedClock,
        engine: str | None,
        aloud: bool = False,
    ) -> None:
        """`folder` holds the sounds; `clock` shows the wall time the session begins or goes on at. Raises
        HearingError."""
        self.clock = clock
        self._scenario = scenario
        self._loaded = loaded
        self._sounds = sounds(scenario, folder)
        self._clips = RoomOfClips(clock)
        self._ear = ear_for(loaded.procedure.language, open_recogniser(loaded, engine))
        self._voice: Voice = TextVoice(clock)
        self._play: Callable[[Samples], None] | None = None
        if aloud:
            self._voice, self._play = _aloud(loaded)

    def room(self, display: Display) -> Room:
        """The room, as it is shown on a display; nobody is in it yet."""
        return Room(self.clock, self._voice, display, NoKeys(), self._clips)

    def session(self, sink: RecordSink, room: Room, state: State | None = None) -> Session:
        """The session, with the scenario's people in the room."""
        machine = Machine(self._loaded.procedure)
        players = Players(self._scenario, machine)

        def your_turn() -> None:
            line = players.next(session.state)
            self._clips.hush()  # what was still to be said answered something else
            if line is None or not line.text:
                return
            sound = self._sounds[line.file_name()]
            self._clips.play(sound, line.after * 1000 + LEAD_MS)
            if self._play is not None and not line.after:
                self._play(sound)

        session = Session(machine, replace(room, your_turn=your_turn), sink, self._ear, state)
        return session

    def close(self) -> None:
        self._ear.close()
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
