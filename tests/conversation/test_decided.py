"""What an entry says was decided is what folding the record gives."""

from pathlib import Path

from companion.machine.decided import decided, entry_body, told
from companion.machine.machine import Machine
from companion.record.reader import glance, read_record
from companion.review.course import course_as_told
from companion.review.timeline import loaded_of, timeline
from companion.session.events import from_json
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
    for body in bodies:
        before, event = state, from_json(body["event"])
        state, says = machine.step(state, event)
        change = decided(machine, before, state)
        assert body == entry_body(event, says, change)
        read = told(body)
        assert read is not None
        assert read.model_dump(exclude={"event"}) == change.model_dump() and read.event == event
    assert any("undone" in body for body in bodies)
    assert [body["performer"] for body in bodies if "performer" in body] == ["41"]


def test_what_the_entries_tell_is_the_course_that_the_machine_gives(tmp_path: Path) -> None:
    rig = Rig(tmp_path, BACK)
    try:
        rig.run()
    finally:
        rig.writer.close()
    looked_at, folded = glance(rig.path, 10**7), timeline(read_record(rig.path))
    assert looked_at is not None
    course = course_as_told(looked_at)
    assert course is not None and course.again and course.replied
    for name, found in vars(course).items():
        if name != "confirmed":
            assert found == getattr(folded, name), name
    assert [(each.step, each.n, each.at_ms, each.took_ms) for each in course.confirmed] == [
        (each.step, each.n, each.at_ms, each.took_ms) for each in folded.confirmed
    ]
