"""A procedure walked by sound: people who speak their replies, a real recogniser that has to hear them.

The people read the state only to know whose turn it is and what is asked; what counts is what the recogniser takes. A
reply that is not taken is said again. A script maps a step, or `step/item`, to what is said there, as in `walking`.
"""

from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, time
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.conversation.guided import Session, started
from companion.conversation.parts import ear_for, finish, opening_of
from companion.conversation.room import Room
from companion.hearing.room_files import RoomOfClips
from companion.machine.machine import Machine
from companion.ports.recogniser import Recogniser
from companion.procedure.kinds.base import Say
from companion.procedure.kinds.worked_out import own_figure
from companion.procedure.loading.loader import Loaded
from companion.procedure.model import Procedure
from companion.procedure.steps import (
    ActionStep,
    CalculationStep,
    CheckStep,
    IdentificationStep,
    ObservationStep,
    PacedStep,
    ReadingStep,
    Step,
    WaitStep,
)
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.review.timeline import timeline
from companion.review.told import Timeline
from companion.session.state import State
from companion.speech.controls import control_phrases
from companion.speech.numbers import say_digits
from companion.speech.speakable import words_of
from companion.speech.value_phrases import say_value
from companion.voice.text_voice import TextVoice
from tests.hearing.synthetic_speech import flite
from tests.procedures.walking import CHECKER, PERFORMER, Script
from tests.walk import TODAY

VOICE, CHECKER_VOICE = "rms", "slt"
PAUSE_MS = 400
"""People leave a little time before they answer."""
MOST_TRIES = 4
"""So often a reply is said before the test gives up."""


class People:
    """Says what is due. The checker has a voice and a tag of their own."""

    def __init__(self, procedure: Procedure, script: Script) -> None:
        self._procedure = procedure
        self._left = {key: [said] if isinstance(said, str) else list(said) for key, said in script.items()}
        self._right = control_phrases(procedure.language)["right"][0]
        self._asked: object = None
        self._said = ""
        self._tries = 0

    def reply(self, state: State, step: Step | None) -> str:
        """What is said now. Asked the same again, the same is said again."""
        asked = (state.status, state.frames, len(state.done), state.here.item, state.here.phase, step)
        if asked != self._asked:
            self._asked, self._tries, self._said = asked, 0, self._due(state, step)
        self._tries += 1
        assert self._tries <= MOST_TRIES, f"`{self._said}` is never taken at {step.id if step else state.status}"
        return self._said

    def _due(self, state: State, step: Step | None) -> str:
        if state.here.phase == "read back":
            return self._right
        match step:
            case None:
                return say_digits(PERFORMER)
            case CheckStep() if state.here.phase == "ask":
                return say_digits(CHECKER)
            case CheckStep():
                return self._own(state, self._procedure.step(step.of))
            case CalculationStep():
                return self._own(state, step)
            case IdentificationStep():
                item = step.items[state.here.item]
                return self._take(f"{step.id}/{item.id}", item.agrees[0])
            case ObservationStep():
                return self._take(step.id, step.normal[0])
            case ActionStep() | PacedStep() | WaitStep():
                return self._take(step.id, step.replies[0])
            case ReadingStep():
                return self._value(step, state)
            case _:
                return say_digits(PERFORMER)

    def _own(self, state: State, of: Step) -> str:
        if isinstance(of, ReadingStep):
            return words_of(say_value(state.values[of.id], of.value))
        assert isinstance(of, CalculationStep)
        return say_value(own_figure(self._procedure, of, state.values), of.value)

    def _value(self, step: ReadingStep, state: State) -> str:
        """A value is given again on every visit; what it stands beside where the script has none."""
        left = self._left.get(step.id)
        beside = next((alert.beside for alert in step.alerts if alert.beside is not None), None)
        if not left and beside is not None:
            return words_of(say_value(state.values[beside], step.value))
        assert left, f"the script gives no value for `{step.id}`"
        return left.pop(0) if len(left) > 1 else left[0]

    def _take(self, key: str, otherwise: str) -> str:
        left = self._left.get(key)
        return left.pop(0) if left else otherwise


class Silent:
    """A screen nobody looks at and a keyboard nobody touches; it keeps what was heard, for a test that fails."""

    interrupts = True
    ended = False

    def __init__(self) -> None:
        self.shown: list[str] = []

    def says(self, say: Say) -> None:
        self.shown.append(say.text)

    def heard(self, phrase: str, by: str) -> None:
        self.shown.append(f"> {phrase}")

    def missed(self, reason: str) -> None:
        self.shown.append(f"> not taken: {reason}")

    def listening(self, phrases: Sequence[str]) -> None: ...

    def notice(self, text: str) -> None:
        self.shown.append(f"* {text}")

    def poll(self) -> list[str]:
        return []

    def hide(self, hidden: bool) -> None: ...


@dataclass(frozen=True)
class Spoken:
    """A session that was spoken through, read back from its record."""

    told: Timeline

    @property
    def state(self) -> State:
        return self.told.state

    def by(self) -> set[tuple[str, str]]:
        """How the standing steps were confirmed, and by which engine."""
        return {(step.by, step.engine) for step in self.told.confirmed}

    def confirmed(self) -> list[str]:
        return [step.step for step in self.told.confirmed]

    def branches(self) -> list[str]:
        """The branches that steps were confirmed in, in order."""
        return list(dict.fromkeys(done.branch for done in self.state.done if done.branch is not None))


def speak(loaded: Loaded, script: Script, recogniser: Recogniser, folder: Path) -> Spoken:
    """The whole session, by sound alone, from the performer's tag to the closed record."""
    clock = SimulatedClock(datetime.combine(TODAY, time(9), UTC))
    clips = RoomOfClips(clock)
    people = People(loaded.procedure, script)
    writer = RecordWriter.create(folder, opening_of(loaded, "rehearsal"), clock, own_key(folder / "keys"))
    with closing(writer):

        def your_turn() -> None:
            clips.hush()
            state, step = session.state, session.machine.current(session.state)
            due = [at for timer, at in session.machine.own_timers(state).items() if timer.in_silence]
            if step is not None and due and state.here.phase != "read back":
                clock.advance(max(0, max(due) - session.now_ms()))  # a wait is waited for in silence
                return
            voice = CHECKER_VOICE if step is not None and _is_checkers(step) else VOICE
            clips.play(flite(people.reply(state, step), voice), PAUSE_MS)

        nobody = Silent()
        room = Room(clock, TextVoice(clock), nobody, nobody, clips, your_turn)
        ear = ear_for(loaded.procedure.language, recogniser)
        session = Session(Machine(loaded.procedure), room, writer, ear)
        session.begin(started("", clock, "rehearsal"))
        session.run()
        finish(session, writer)
    return Spoken(timeline(read_record(writer.path)))


def _is_checkers(step: Step) -> bool:
    return isinstance(step, CheckStep) or step.say.startswith("Checker")
