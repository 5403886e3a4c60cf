"""What an entry says was decided is what folding the record gives."""

from pathlib import Path

from companion.machine.decided import decided
from companion.machine.machine import Machine
from companion.record.reader import read_record
from companion.review.timeline import events_of, loaded_of, timeline
from companion.session.state import State
from tests.conversation.rig import WHOLE, Rig

BACK = (*WHOLE[:6], "go back", "", "both hands dry", *WHOLE[6:])


def test_every_entry_says_what_the_fold_says(tmp_path: Path) -> None:
    rig = Rig(tmp_path, BACK)
    try:
        rig.run()
    finally:
        rig.writer.close()
    record = read_record(rig.path)
    machine, state = Machine(loaded_of(record).procedure), State()
    bodies = [entry.body for entry in record.entries if entry.kind == "event"]
    for body, event in zip(bodies, events_of(record), strict=True):
        before = state
        state, _ = machine.step(state, event)
        assert {key: body[key] for key in ("done", "undone", "performer") if key in body} == decided(before, state)
    assert any("undone" in body for body in bodies)
    assert [body["performer"] for body in bodies if "performer" in body] == ["41"]
    standing: list[str] = []
    for body in bodies:
        standing = [step for step in standing if step not in body.get("undone", [])]
        standing += [each["step"] for each in body.get("done", [])]
    assert standing == [done.step for done in timeline(record).confirmed]
