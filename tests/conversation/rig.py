"""A session on simulated time with typed replies and a real record, for tests of the loop."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.guided import Session
from companion.conversation.room import Room
from companion.errors import UsageError
from companion.machine.machine import Machine
from companion.meaning.understood import MeaningReader
from companion.ports.recogniser import Hearing, Verdict
from companion.procedure.kinds.base import Say
from companion.procedure.loading import load
from companion.procedure.loading.loader import Loaded
from companion.record.keys import own_key
from companion.record.writer import RecordWriter
from companion.voice.text_voice import TextVoice

DRILL = Path(__file__).parent.parent / "data" / "drill.yaml"


class Typist:
    """Types the next line each time it is its turn."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = list(lines)
        self.ended = False
        self.interrupts = True
        self.hidden = False
        self.hidden_at: list[str] = []
        self.turn = False

    def poll(self) -> list[str]:
        if not self.turn:
            return []
        self.turn = False
        if not self.lines:
            self.ended = True
            return []
        if self.hidden:
            self.hidden_at.append(self.lines[0])
        return [self.lines.pop(0)]

    def hide(self, hidden: bool) -> None:
        self.hidden = hidden


class Screen:
    """Keeps what was shown."""

    def __init__(self) -> None:
        self.shown: list[str] = []

    def says(self, say: Say) -> None:
        self.shown.append(say.text)

    def heard(self, phrase: str, by: str) -> None:
        self.shown.append(f"{by}: {phrase}")

    def missed(self, reason: str) -> None:
        self.shown.append(f"missed: {reason}")

    def listening(self, phrases: Sequence[str]) -> None:
        """Not kept."""

    def notice(self, text: str) -> None:
        self.shown.append(f"notice: {text}")


class Rig:
    """Everything a typed session needs. `typist.turn` is set whenever the loop listens."""

    def __init__(
        self, folder: Path, lines: Sequence[str], procedure: Path = DRILL, reader: MeaningReader | None = None
    ) -> None:
        self.loaded: Loaded = load(procedure)
        self.clock = SimulatedClock(datetime(2030, 3, 4, 8, tzinfo=UTC))
        self.screen = Screen()
        self.typist = Typist(lines)
        opening = {"procedure_id": "drill", "procedure_text": self.loaded.text}
        self.writer = RecordWriter.create(folder / "records", opening, self.clock, own_key(folder / "keys"))
        self.path = self.writer.path
        voice = TextVoice(self.clock)
        room = Room(self.clock, voice, self.screen, self.typist, your_turn=self._your_turn, reader=reader)
        self.session = Session(Machine(self.loaded.procedure), room, self.writer)

    def _your_turn(self) -> None:
        self.typist.turn = True

    def run(self) -> None:
        self.session.begin(started("41", self.clock, "rehearsal"))
        self.session.run()


WHOLE = (
    *("rub is in", "both hands dry", "", "", "", "both hands dry"),
    *("name agrees", "birthday agrees", "18 units", "exactly right", "tray is tidy", "0.18 mL", "0.18 mL"),
    *("52", "exactly right", "0.18 mL", "0.18 mL", "nothing to see", "", "nothing to see", "41"),
)


class Scripted:
    """A reader that knows some sentences: of each the odds, by what stands in the text that is asked."""

    name = "scripted"

    def __init__(self, odds: Mapping[str, Mapping[str, float]]) -> None:
        self._odds = odds
        self.asked: list[str] = []

    def odds(self, said: str, asked: Sequence[str]) -> list[float]:
        self.asked.append(said)
        known = self._odds.get(said, {})
        return [max((odd for name, odd in known.items() if name in text), default=-9.0) for text in asked]


def typed(
    folder: Path,
    lines: Sequence[str],
    odds: Mapping[str, Mapping[str, float]] | None = None,
    procedure: Path = DRILL,
) -> Rig:
    """A session that is still open after its lines, or has ended with them."""
    rig = Rig(folder, lines, procedure, None if odds is None else Scripted(odds))
    try:
        rig.run()
    except UsageError:
        assert not rig.session.state.ended
    return rig


def spoken(rig: Rig, written: str, verdict: Verdict = "other") -> None:
    """An engine wrote down what is no phrase."""
    rig.session._hear(Hearing(verdict, None, None, -9.0, "test", "it was none of the phrases", 0.1, 0.0, written))
