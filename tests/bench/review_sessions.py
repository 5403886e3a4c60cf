"""Sessions by the thousand for the review room, made by simulation: `python -m tests.bench.review_sessions FOLDER [N]`.

The machine is walked through a procedure of the library with chance in what is heard, how long it takes, what is left
out and gone back to, and a real writer writes it down. Nobody said any of it.
"""

import random
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.conversation.parts import opening_of
from companion.machine.decided import decided, entry_body
from companion.machine.machine import Machine
from companion.procedure.loading import load
from companion.procedure.loading.loader import Loaded
from companion.procedure.model import Procedure
from companion.record.keys import SigningKey
from companion.record.writer import RecordWriter
from companion.session.events import Missed
from companion.session.state import State
from companion.speech.language import control_phrases
from tests.procedures.walking import Script, Walk
from tests.record.making import UnsyncedFiles, key
from tests.walk import Walker

PROCEDURES = Path(__file__).parents[2] / "procedures"
ENTRIES = 60
START = datetime(2030, 3, 4, 8, 5, tzinfo=UTC)
PERFORMERS = tuple(str(tag) for tag in range(11, 51))


class Human(Walker):
    """Takes time, mumbles, and leaves out what may be left out."""

    def __init__(self, procedure: Procedure, performer: str, chance: random.Random, mumbles: set[int]) -> None:
        self._chance = chance
        self._mumbles = mumbles
        self._replies = 0
        self.pace = chance.uniform(0.6, 2.0)
        words = control_phrases(procedure.language)
        self._leave, self._back = words["leave out"][0], words["go back"][0]
        super().__init__(procedure, performer)

    def reply(self, phrase: str, after_ms: int = 500) -> None:
        """The phrase, or another that the moment allows; a reply that was not clear comes before some of them."""
        self._replies += 1
        gap = int(1000 * self.pace * self._chance.lognormvariate(1.1, 0.7)) + 300
        draw = self._chance.random()
        if self._replies in self._mumbles:
            near = phrase if self.machine.allowed(self.state)[phrase].value is None else None
            self.take(
                Missed(
                    at_ms=self.now + 900, why="unclear", nearest=near, reason="too faint", engine="scorer", margin="0.2"
                )
            )
        if draw < 0.03 and self._leave in self.machine.allowed(self.state):
            phrase = self._leave
        super().reply(phrase, gap)


def session(loaded: Loaded, seed: int, script: Script | None = None, entries: int | None = ENTRIES) -> Walker:
    """One session by the seed, with `entries` - 2 events where that can be had by mumbling more."""
    events = 0
    for attempt in range(6):
        chance = random.Random(seed)
        wanted = (entries - 2 - events if attempt else 0) if entries else 4
        spread = random.Random(seed + 1)
        mumbles = set(spread.sample(range(1, 30), max(0, min(wanted, 25))))
        walk = Walk(loaded.procedure, script, spread.choice(PERFORMERS))
        walk.walker = Human(loaded.procedure, walk.walker.state.performer, chance, mumbles)
        walk.to_end()
        if not attempt:
            events = len(walk.walker.events)
        if entries is None or len(walk.walker.events) == entries - 2:
            break
    return walk.walker


def written(folder: Path, loaded: Loaded, walker: Walker, begun: datetime, signer: SigningKey, name: str) -> Path:
    """The record of a session, as the session's loop writes it, closed and signed."""
    clock = SimulatedClock(begun)
    opening = opening_of(loaded, "rehearsal")
    writer = RecordWriter.create(folder / name, opening, clock, signer, UnsyncedFiles())
    machine, state = Machine(loaded.procedure), State()
    for event in walker.events:
        clock.wait_ms(event.at_ms - state.at_ms)
        before = state
        state, says = machine.step(before, event)
        writer.append("event", entry_body(event, says, decided(machine, before, state)), state.at_ms)
    clock.wait_ms(900)
    writer.finish("signed" if state.status == "finished" else "abandoned", state.at_ms + 900)
    writer.close()
    return writer.path


def simulate(folder: Path, count: int, procedure: str = "simple-dressing", entries: int | None = ENTRIES) -> list[Path]:
    """`count` sessions in `folder`, always the same ones."""
    loaded, signer = load(PROCEDURES / f"{procedure}.yaml"), key()
    made = []
    for number in range(count):
        begun = START + timedelta(hours=7 * number)
        name = f"{begun:%Y%m%dT%H%M%SZ}-{procedure}-{number:04x}.jsonl"
        made.append(written(folder, loaded, session(loaded, number, entries=entries), begun, signer, name))
    return made


if __name__ == "__main__":
    simulate(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 2000)
