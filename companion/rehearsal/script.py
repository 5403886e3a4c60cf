"""A rehearsal by a script: its lines' sounds, played into the real dictation in simulated time."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
from pydantic import AwareDatetime, Field

from companion.clocks import SimulatedClock
from companion.conversation.room import Display, NoKeys, Room
from companion.conversation.scenario import Line, read_model
from companion.hearing.files import read_sound
from companion.hearing.room_files import RoomOfClips
from companion.ports.sound import Block, Ended, Quiet, Samples
from companion.speech.values import Frozen
from companion.voice.text_voice import TextVoice

LEAD_MS = 400
PATIENCE_MS = 60_000
"""Whoever follows a script says the next line after so long a silence, and is done when there is none."""

_NOTHING: Samples = np.zeros(0, np.int16)


class ScriptedRoom(RoomOfClips):
    """The room of somebody who follows a script."""

    def __init__(self, clock: SimulatedClock, go_on: Callable[[], bool]) -> None:
        """`go_on` says the next line; False when there is none."""
        super().__init__(clock)
        self._go_on = go_on

    def read(self, timeout_s: float) -> Block | Quiet | Ended:
        if self.quiet_ms() > PATIENCE_MS and not self._go_on():
            return Ended()
        return super().read(timeout_s)


class Script(Frozen):
    """A rehearsal as a student would give it: what is said, one line after the other."""

    about: str
    start: AwareDatetime
    lines: tuple[Line, ...] = Field(min_length=1)


def room_of_script(path: Path, display: Display) -> Room:
    """The room in which a student follows the script; its sounds lie beside it. Raises UsageError and HearingError."""
    script = read_model(path, Script, "script")
    waiting = list(script.lines)
    sounds = {each.file_name(): read_sound(path.parent / each.file_name()) for each in waiting if each.text}
    clock = SimulatedClock(script.start)

    def go_on() -> bool:
        if not waiting:
            return False
        line = waiting.pop(0)
        clips.play(sounds.get(line.file_name(), _NOTHING), line.after * 1000 + LEAD_MS)
        return True

    def your_turn() -> None:
        if not clips.sounding():
            go_on()

    clips = ScriptedRoom(clock, go_on)
    return Room(clock, TextVoice(clock), display, NoKeys(ended=True), clips, your_turn)
