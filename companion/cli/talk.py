"""The parts of a rehearsal: ear, voice and keys of this machine, or a script with sounds in simulated time."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import numpy as np
from pydantic import AwareDatetime, Field

from companion.cli.console import NoKeys, StdinKeys
from companion.cli.outcome import finish
from companion.cli.passphrase import signing_key
from companion.cli.terminal import tell
from companion.cli.wrapped import line
from companion.clocks import RealClock, SimulatedClock
from companion.conversation.scenario import Line, read_model
from companion.errors import HearingError
from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.files import read_sound
from companion.hearing.room_files import RoomOfClips
from companion.hearing.vad import best_detector
from companion.meaning.likely import TalkReader
from companion.ports.sound import Block, Ended, Microphone, Quiet, Samples
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
from companion.record.writer import RecordWriter
from companion.rehearsal.ear import Dictation, TalkEar
from companion.rehearsal.judging import Rules
from companion.rehearsal.loop import Rehearsal
from companion.speech.values import Frozen
from companion.voice.text_voice import TextVoice

NO_MODEL = "to be heard from memory, fetch the model that writes down speech: companion models fetch scorer"
LEAD_MS = 400
PATIENCE_MS = 60_000
"""Whoever follows a script says the next line after so long a silence, and is done when there is none."""


class Typed:
    """A rehearsal on a terminal, in plain lines."""

    def said(self, text: str) -> None:
        tell(line(text, "  "))

    def heard(self, text: str, by: str, titles: tuple[str, ...]) -> None:
        """From memory nothing tells which steps were noted: it would be a cue."""
        tell(line(text, f"    {'>' if by == 'voice' else '#'} "))

    def notice(self, text: str) -> None:
        tell(line(text, "* "))


@dataclass
class Talk:
    """What this machine has; ear and microphone are None where typing has to do."""

    voice: Voice
    keys: StdinKeys
    ear: TalkEar | None = None
    microphone: Microphone | None = None


def open_dictation(language: str) -> Dictation:
    """The model that writes down speech. Raises HearingError with the line that fetches it."""
    try:
        return cast(Dictation, open_engine("scorer", None, language))
    except HearingError as fault:
        if "is not here" in str(fault):
            raise HearingError(NO_MODEL) from fault
        raise


_NOTHING: Samples = np.zeros(0, np.int16)


@contextmanager
def open_talk(loaded: Loaded, clock: RealClock, keyboard: bool, silent: bool, device: str | None) -> Iterator[Talk]:
    """Opens what is there and prints what is not, with the line that installs it; closes everything at the end."""
    from companion.hearing.microphone import open_microphone
    from companion.voice.best import open_voice

    voice, missing = open_voice(loaded.procedure.language, clock, aloud=not silent)
    talk = Talk(voice, StdinKeys())
    dictation: Any = None
    try:
        if not keyboard:
            try:
                dictation = open_dictation(loaded.procedure.language)
                talk.microphone = open_microphone(device)
                talk.ear = TalkEar(dictation, Endpointer(best_detector()))
            except HearingError as fault:
                if device is not None:
                    raise
                missing = [*missing, f"{fault}; until then type what you would say"]
        for each in missing:
            tell(line(each, "* "))
        yield talk
    finally:
        talk.keys.close()
        if talk.microphone is not None:
            talk.microphone.close()
        if dictation is not None:
            dictation.close()
        voice.close()


class _DoneTalking(NoKeys):
    """Nobody types: when the sound is over, so is the rehearsal."""

    ended = True


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


def perform_script(
    path: Path,
    loaded: Loaded,
    rules: Rules,
    folder: Path,
    opening: Mapping[str, Any],
    student: str,
    reader: TalkReader | None,
) -> None:
    """Play the lines' sounds, which lie beside the script, into the real dictation, in simulated time."""
    script = read_model(path, Script, "script")
    waiting = list(script.lines)
    sounds = {each.file_name(): read_sound(path.parent / each.file_name()) for each in waiting if each.text}
    clock = SimulatedClock(script.start)
    dictation: Any = open_dictation(loaded.procedure.language)

    def go_on() -> bool:
        if not waiting:
            return False
        line = waiting.pop(0)
        room.play(sounds.get(line.file_name(), _NOTHING), line.after * 1000 + LEAD_MS)
        return True

    def on_turn() -> None:
        if not room.sounding():
            go_on()

    room = ScriptedRoom(clock, go_on)

    with closing(dictation), closing(RecordWriter.create(folder, opening, clock, signing_key())) as writer:
        rehearsal = Rehearsal(
            loaded.procedure,
            rules,
            writer,
            clock,
            TextVoice(clock),
            Typed(),
            _DoneTalking(),
            script.start.date(),
            performer=student,
            ear=TalkEar(dictation, Endpointer(best_detector())),
            microphone=room,
            reader=reader,
            on_turn=on_turn,
        )
        finish(rehearsal, loaded.procedure, writer)
    sys.stdout.flush()
