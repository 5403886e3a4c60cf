"""The front door: a session or a rehearsal typed from Python, a sound heard, a record read.

What is raised is a `companion.errors.CompanionError`, with one sentence: the culprit, what is accepted, and where.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from companion import places
from companion.clocks import RealClock, SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.guided import Session
from companion.conversation.parts import finish, opening_of, performer_tag
from companion.conversation.room import LONGEST_TYPED, Room
from companion.conversation.turns import Turns
from companion.errors import HearingError, UsageError
from companion.hearing.engines import open_engine
from companion.hearing.files import read_sound
from companion.hearing.whole import hear_whole
from companion.machine.machine import Machine
from companion.meaning.reader.fetched import open_reader
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.ports.recogniser import Hearing
from companion.ports.sound import Samples
from companion.procedure.kinds.base import Say
from companion.procedure.loading import Loaded, find, load_rehearsed
from companion.procedure.loading import load as load_file
from companion.record.keys import own_key
from companion.record.privacy import refuse_private
from companion.record.reader import read_record as read_entries
from companion.record.writer import RecordWriter
from companion.rehearsal.cues import LEVELS, Level
from companion.rehearsal.judging import Rules
from companion.rehearsal.rehearsal import Rehearsal as Talk
from companion.rehearsal.rehearsal import student_tag
from companion.review.timeline import timeline
from companion.review.told import Timeline
from companion.session.findings import Judgement
from companion.voice.text_voice import AT_ONCE, TextVoice


def load(procedure: str | Path, settings: Mapping[str, str] | None = None) -> Loaded:
    """A procedure by its name in the library, or from its file. `settings` are local policy's values, by id.

    Raises ProcedureError with every fault of the file or where there is none, UsageError for a setting that names
    somebody.
    """
    today = date.today()
    given = {name: refuse_private(f"setting {name}", value, today) for name, value in (settings or {}).items()}
    return load_file(find(str(procedure)), given)


def hear(
    sound: Path | str | Samples, phrases: Sequence[str], engine: str | None = None, language: str = "en-US"
) -> Hearing:
    """Which of `phrases` (whole, lower case, without figures) was said in a recording of one utterance, or none.

    `sound` is a file (WAV, FLAC, OGG, MP3), or mono 16-bit samples at 16 kHz, shape (n,). `engine` is `scorer`,
    `pocketsphinx` or `vosk`; None takes the best that is here for `language` (BCP 47). Raises HearingError for a file
    that cannot be read, an engine that is not here, and a word that it does not know.
    """
    samples = read_sound(Path(sound)) if isinstance(sound, Path | str) else sound
    recogniser = open_engine(engine, None, language)
    try:
        unknown = recogniser.unknown_words(phrases)
        if unknown:
            raise HearingError(
                f"the engine {recogniser.name} does not know {', '.join(unknown)}; accepted: other words"
            )
        return hear_whole(recogniser, samples, tuple(phrases), language)
    finally:
        recogniser.close()


def read_record(path: Path | str) -> Timeline:
    """A session's record, verified and told: what was asked, heard and decided, and the steps that stand confirmed.

    Times are milliseconds since it began. Raises RecordError for a record that cannot be believed.
    """
    return timeline(read_entries(Path(path)))


class _Desk:
    """The screen and the keyboard of whoever types from Python."""

    interrupts, ended = True, False

    def __init__(self) -> None:
        self.said: list[str] = []
        self._refused = ""
        self._lines: list[str] = []
        self._my_turn = False

    def says(self, say: Say) -> None:
        self.said.append(say.text)

    def heard(self, phrase: str, by: str) -> None:
        """Whoever typed it knows."""

    def missed(self, reason: str) -> None:
        self._refused = reason

    def listening(self, phrases: Sequence[str]) -> None:
        """Asked for by whoever wants it."""

    def notice(self, text: str) -> None:
        self.said.append(text)

    def poll(self) -> list[str]:
        lines, self._lines = self._lines, []
        return lines

    def hide(self, hidden: bool) -> None:
        """Nothing is shown as it is typed."""

    def your_turn(self) -> None:
        self._my_turn = True

    def go_on(self, turns: Turns[Any], line: str = "") -> tuple[str, ...]:
        """Type a line, where there is one, and go on until it is somebody's turn again; what was said."""
        if len(line) > LONGEST_TYPED:
            raise UsageError(f"that line is too long; accepted: up to {LONGEST_TYPED} characters")
        if line.strip():
            self.said, self._refused, self._my_turn = [], "", False
            self._lines.append(line)
        while not (self._my_turn or self._refused or turns.done):
            turns.turn()
        if self._refused:
            self._my_turn = True
            raise UsageError(self._refused)
        return tuple(self.said)


class _Typed:
    """What a typed session and a typed rehearsal have in common: a desk, a record, and their end."""

    def __init__(
        self, procedure: Loaded, records: Path | str | None, begins: datetime | None, opening: Mapping[str, str]
    ) -> None:
        self._clock = RealClock() if begins is None else SimulatedClock(begins)
        self._desk = _Desk()
        self._room = Room(
            self._clock, TextVoice(self._clock, AT_ONCE), self._desk, self._desk, None, self._desk.your_turn
        )
        where = places.records() if records is None else Path(records)
        body = {**opening_of(procedure, "rehearsal"), **opening}
        self._writer = RecordWriter.create(where, body, self._clock, own_key(places.keys()))
        self.path = self._writer.path
        """Of the record, a `.jsonl` file."""

    @property
    def says(self) -> tuple[str, ...]:
        """What the program said last, in order."""
        return tuple(self._desk.said)

    def close(self) -> None:
        """Let go of the record. One that was not ended is kept as it is."""
        self._writer.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


class Guide(_Typed):
    """A guided session, typed: each reply is durable in the record before it is answered. A context manager.

    A session that is let go of before its end can be gone on with: `companion resume PATH`.
    """

    def __init__(
        self, procedure: Loaded, records: Path | str | None = None, performer: str = "", begins: datetime | None = None
    ) -> None:
        """`records` is the folder for the record, this machine's own where left out. `performer` is a tag of digits,
        asked for where left out. `begins` has the session run in simulated time from then on, which `wait` lets pass.

        Raises UsageError for what is no tag, RecordError where no record can be begun or signed.
        """
        tag = performer_tag(procedure.procedure, performer)
        super().__init__(procedure, records, begins, {})
        room = replace(self._room, reader=open_reader_of_meanings(procedure.procedure.language)[0])
        self._session = Session(Machine(procedure.procedure), room, self._writer)
        self._session.begin(started(tag, self._clock, "rehearsal"))
        self.receipt = ""
        """Once it has ended: the code by which somebody else can tell later that the record was not changed."""
        self._go_on()

    @property
    def replies(self) -> tuple[str, ...]:
        """What may be replied now; a value stands for itself, such as `18 units`."""
        return self._session.machine.offers(self._session.state).phrases()

    @property
    def ended(self) -> bool:
        """Whether the session is over; the record is then closed."""
        return self._session.over

    def reply(self, text: str) -> tuple[str, ...]:
        """Type a reply: one of `replies`, a value in figures with its unit, or, where the reader's model was fetched
        (`companion models fetch meanings`), words of your own. What the program says then.

        Raises UsageError for what is no reply here (the session stays where it was), and once it is over.
        """
        if not text.strip() or self.ended:
            raise UsageError("there is nothing to reply to any more" if self.ended else "an empty reply says nothing")
        return self._go_on(text)

    def wait(self, seconds: float) -> tuple[str, ...]:
        """Let time pass and reply nothing; what the program says meanwhile."""
        self._desk.said = []
        until = self._clock.now_ms() + round(1000 * seconds)
        while not self._session.done and self._clock.now_ms() < until:
            self._session.turn()
        return self._go_on()

    def _go_on(self, line: str = "") -> tuple[str, ...]:
        said = self._desk.go_on(self._session, line)
        if self.ended and not self.receipt:
            _, self.receipt = finish(self._session, self._writer)
        return said


class Rehearsal(_Typed):
    """A procedure talked through in one's own words, typed. A context manager.

    It understands free wording much better where the reader's model was fetched (`companion models fetch reader`).
    """

    def __init__(
        self,
        procedure: Loaded,
        records: Path | str | None = None,
        student: str = "",
        level: Level = "none",
        only: Collection[str] = (),
        begins: datetime | None = None,
    ) -> None:
        """`student` is a tag of digits; `level` of help: `full`, `headings` or `none`; `only` names the steps to be
        rehearsed, all where left out. `records` and `begins` are as for `Guide`.

        Raises UsageError for a tag, level or step there is not, RecordError where no record can be begun or signed.
        """
        rehearsed = load_rehearsed(Path(procedure.path), procedure.settings)
        steps = [step.id for step in rehearsed.procedure.steps]
        for given, accepted in ((level, LEVELS), *((step, steps) for step in only)):
            if given not in accepted:
                raise UsageError(f"`{given}` is not known here; accepted: {', '.join(accepted)}")
        tag = student_tag(student)
        super().__init__(rehearsed, records, begins, {"rehearsal": level})
        rules = Rules(help=level, only=tuple(step for step in steps if step in only))
        self._talk = Talk(
            rehearsed.procedure, rules, self._room, self._writer, None, open_reader(rehearsed.procedure)[0]
        )
        self._talk.begin(tag)
        self._desk.go_on(self._talk)

    def say(self, text: str) -> tuple[str, ...]:
        """Say something, or `hint`; what the program says to it, which from memory is nothing.

        Raises UsageError for empty talk, for too long a line, and once the rehearsal is over.
        """
        if not text.strip() or self._talk.over:
            raise UsageError("the rehearsal is over" if self._talk.over else "empty talk says nothing")
        return self._desk.go_on(self._talk, text)

    def finish(self) -> Judgement:
        """It is over: what was found, the critical first. The record is then closed."""
        self._desk.said = []
        judgement = self._talk.end()
        self._writer.finish(judgement.outcome, self._talk.now_ms())
        return judgement
