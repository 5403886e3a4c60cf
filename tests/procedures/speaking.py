"""A procedure walked by sound: people who speak their replies, a real recogniser that has to hear them.

The people read the state only to know whose turn it is and what is asked; what counts is what the recogniser takes. A
reply that is not taken is said again. A script maps a step, or `step/item`, to what is said there, as in `walking`.
"""

from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, time
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.guided import Session
from companion.conversation.parts import ear_for, finish, opening_of
from companion.conversation.room import Room
from companion.hearing.room_files import RoomOfClips
from companion.machine.machine import Machine
from companion.meaning.understood import MeaningReader
from companion.ports.recogniser import Recogniser
from companion.ports.sound import Samples
from companion.procedure.kinds.action import ActionStep
from companion.procedure.kinds.base import Say
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.kinds.paced import PacedStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.kinds.worked_out import CalculationStep, CheckStep, own_figure
from companion.procedure.loading.loader import Loaded
from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.review.timeline import timeline
from companion.review.told import Timeline
from companion.session.state import State
from companion.speech.language import control_phrases
from companion.speech.numbers import say_digits
from companion.speech.speakable import words_of
from companion.speech.value_phrases import say_value
from companion.speech.values import Value
from companion.voice.text_voice import TextVoice
from tests.hearing.synthetic_speech import flite
from tests.procedures.walking import CHECKER, PERFORMER, Script
from tests.walk import TODAY

VOICE, CHECKER_VOICE = "rms", "slt"
PAUSE_MS = 400
"""People leave a little time before they answer."""
MOST_TRIES = 4
"""So often a reply is said before the test gives up."""


Voices = Callable[[str, bool], Samples]
"""How a reply sounds, the checker's or the performer's."""


def flite_voices(text: str, checkers: bool) -> Samples:
    return flite(text, CHECKER_VOICE if checkers else VOICE)


class People:
    """Says what is due. The checker has a voice and a tag of their own.

    `own` are replies in own words, by step or `step/item`. Who is not understood takes the phrase.
    """

    def __init__(self, procedure: Procedure, script: Script, own: Script | None = None) -> None:
        self._procedure = procedure
        self._left = {key: [said] if isinstance(said, str) else list(said) for key, said in script.items()}
        words = control_phrases(procedure.language)
        self._right, self._wrong = words["right"][0], words["wrong"][0]
        self._asked: object = None
        self._phrase = self._said = ""
        self._tries = 0
        self._natural = {key: [said] if isinstance(said, str) else list(said) for key, said in (own or {}).items()}
        self._machine = Machine(procedure)
        self._given: Value | None = None
        self.again: list[str] = []
        """What had to be said again."""
        self.mistaken: list[str] = []
        """What was taken or asked back and not meant."""

    def reply(self, state: State, step: Step | None) -> str:
        """What is said now. Asked the same again, the phrase is said."""
        if self._is_mistaken(state, step):
            return self._wrong
        if state.here.asked_back:
            return self._right
        asked = (state.status, state.frames, len(state.done), state.here.item, state.here.phase, step)
        if asked != self._asked:
            self._asked, self._tries, self._phrase = asked, 0, self._due(state, step)
            self._said = self._in_own_words(state, step)
            meaning = self._machine.allowed(state).get(self._phrase)
            self._given = self._given if meaning is None or meaning.value is None else meaning.value
        self._tries += 1
        if self._tries > 1:
            self.again.append(self._said)
            self._said = self._otherwise(state)
        assert self._tries <= MOST_TRIES, f"`{self._said}` is never taken at {step.id if step else state.status}"
        return self._said

    def _otherwise(self, state: State) -> str:
        """The phrase; where it was not taken either, another that means the same, such as a figure digit by digit."""
        due, allowed = self._phrase, self._machine.allowed(state)
        others = (phrase for phrase, meaning in allowed.items() if meaning == allowed.get(due) and phrase != due)
        return due if self._tries < 3 else next(others, due)

    def _is_mistaken(self, state: State, step: Step | None) -> bool:
        """Whether what was said was not taken for what was meant."""
        allowed, pending = self._machine.allowed(state), state.here.pending
        if pending is not None and self._given is not None and pending != self._given:
            wrong = True
        elif state.here.asked_back:
            wrong = allowed.get(state.here.asked_back[0]) != allowed.get(self._phrase)
        else:
            # What leads elsewhere is told as it is taken.
            wrong = state.before is not None and step not in self._procedure.steps
        if wrong:
            heard = pending.written() if pending is not None else " ".join(state.here.asked_back)
            self.mistaken.append(heard or (step.id if step is not None else state.status))
        return wrong

    def _in_own_words(self, state: State, step: Step | None) -> str:
        """What is due, in own words where it is no answer to the program's own question."""
        phrase = self._phrase
        if step is None or state.status != "running" or phrase == self._right:
            return phrase
        item = f"/{step.items[state.here.item].id}" if isinstance(step, IdentificationStep) else ""
        left = self._natural.get(f"{step.id}{item}")
        return phrase if not left else left.pop(0) if len(left) > 1 else left[0]

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


def speak(
    loaded: Loaded,
    people: People,
    recogniser: Recogniser,
    folder: Path,
    voices: Voices = flite_voices,
    reader: MeaningReader | None = None,
) -> Spoken:
    """The whole session, by sound alone, from the performer's tag to the closed record."""
    clock = SimulatedClock(datetime.combine(TODAY, time(9), UTC))
    clips = RoomOfClips(clock)
    writer = RecordWriter.create(folder, opening_of(loaded, "rehearsal"), clock, own_key(folder / "keys"))
    with closing(writer):

        def your_turn() -> None:
            clips.hush()
            state, step = session.state, session.machine.current(session.state)
            due = [at for timer, at in session.machine.own_timers(state).items() if timer.in_silence]
            if step is not None and due and state.here.phase != "read back":
                clock.advance(max(0, max(due) - session.now_ms()))  # a wait is waited for in silence
                return
            checkers = step is not None and _is_checkers(step)
            clips.play(voices(people.reply(state, step), checkers), PAUSE_MS)

        nobody = Silent()
        room = Room(clock, TextVoice(clock), nobody, nobody, clips, your_turn, reader)
        ear = ear_for(loaded.procedure.language, recogniser)
        session = Session(Machine(loaded.procedure), room, writer, ear)
        session.begin(started("", clock, "rehearsal"))
        session.run()
        finish(session, writer)
    return Spoken(timeline(read_record(writer.path)))


def _is_checkers(step: Step) -> bool:
    return isinstance(step, CheckStep) or step.say.startswith("Checker")
