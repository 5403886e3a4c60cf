"""Real records for the exports: the drill typed into the loop, and the insulin procedure walked by the machine and
written down entry by entry as the loop does. What is said is invented."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from companion.clocks import SimulatedClock
from companion.conversation.parts import opening_of
from companion.exports.source import Source, load_source
from companion.machine.decided import decided, entry_body
from companion.machine.machine import Machine
from companion.procedure.loading import load
from companion.procedure.loading.loader import Loaded
from companion.procedure.model import Procedure
from companion.record.writer import RecordWriter
from companion.session.events import AnyEvent, Missed
from companion.session.state import State
from tests.conversation.rig import WHOLE, Rig
from tests.procedures.walking import Script, Walk
from tests.record.making import UnsyncedFiles, key

PROCEDURES = Path(__file__).parents[2] / "procedures"
START = datetime(2030, 3, 4, 8, 5, tzinfo=UTC)
INSULIN: Script = {
    "ordered-kind": "rapid acting",
    "ordered-dose": "eighteen units",
    "glucose": "one hundred forty milligrams per deciliter",
    "stock-strength": "one hundred units per milliliter",
    "pen-strength": "one hundred units per milliliter",
    "expiry": "june twenty thirty one",
    "opened-on": "first of march twenty thirty",
    "site": "left abdomen",
}


def drill(folder: Path, lines: Sequence[str] = WHOLE, close: bool = True) -> Path:
    """A session of the drill, typed. Raises what the loop raises when the lines run out."""
    rig = Rig(folder, lines)
    try:
        rig.run()
        if close:
            rig.writer.finish("signed" if rig.session.state.status == "finished" else "abandoned", rig.session.now_ms())
    finally:
        rig.writer.close()
    return rig.path


def walked(folder: Path, walk: Walk, loaded: Loaded, close: bool = True) -> Path:
    """The record of a walk, with the bodies that the session's loop writes."""
    clock = SimulatedClock(START)
    opening = opening_of(loaded, "rehearsal")
    writer = RecordWriter.create(folder, opening, clock, key(), UnsyncedFiles())
    machine, state = Machine(loaded.procedure), State()
    for event in walk.walker.events:
        clock.wait_ms(event.at_ms - state.at_ms)
        state = _taken(writer, machine, state, event)
    if close:
        clock.wait_ms(900)
        writer.finish("signed" if state.status == "finished" else "abandoned", state.at_ms + 900)
    writer.close()
    return writer.path


def insulin(folder: Path, script: Script | None = None, to: str | None = None, close: bool = True) -> Path:
    """The insulin procedure by the script, to its end or as far as step `to`."""
    loaded = load(PROCEDURES / "subcutaneous-insulin.yaml")
    walk = Walk(loaded.procedure, {**INSULIN, **(script or {})})
    walk.walker.take(Missed(at_ms=300, why="unclear", reason="too faint", engine="pocketsphinx", margin="0.10"))
    if to is None:
        walk.to_end()
    else:
        walk.to(to)
    return walked(folder, walk, loaded, close)


def source(path: Path) -> Source:
    """The record as its own machine sees it: the keys that signed it are known."""
    opening = load_source(path).opened
    return load_source(path, {str(opening.body["public_key"])})


def procedure_of(made: Source) -> Procedure:
    return made.told.procedure


def _taken(writer: RecordWriter, machine: Machine, state: State, event: AnyEvent) -> State:
    after, says = machine.step(state, event)
    writer.append("event", entry_body(event, says, decided(machine, state, after)), after.at_ms)
    return after
