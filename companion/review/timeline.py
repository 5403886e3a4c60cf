"""One record as a timeline: what was asked, heard and decided, and how long each step took."""

from collections.abc import Container, Iterator, Mapping

from companion.errors import RecordError
from companion.machine.asking import why_not
from companion.machine.decided import newly_done, undone
from companion.machine.machine import Machine
from companion.procedure.loading.loader import Loaded, load_text
from companion.procedure.model import Procedure
from companion.record.content import believing
from companion.record.reader import Record
from companion.review.talked import is_rehearsed, other_moment, rehearsed, texts
from companion.review.told import Confirmed, Moment, Timeline
from companion.session.events import (
    AnyEvent,
    Missed,
    Opened,
    Replied,
    Resumed,
    Sealed,
    Silent,
    Started,
    TimeUp,
    from_json,
)
from companion.session.state import Done, State


def loaded_of(record: Record) -> Loaded:
    """The procedure a record was made with, from the record itself. Raises ProcedureError and RecordError."""
    with believing(f"{record.path}: line 1, the procedure"):
        opening = record.opening
        return load_text(opening["procedure_text"], str(record.path), opening.get("settings") or {}, judged=False)


def events_of(record: Record) -> Iterator[AnyEvent]:
    """The events in it, in order."""
    return (from_json(entry.body["event"]) for entry in record.entries if entry.kind == "event")


def state_of(record: Record, procedure: Procedure) -> State:
    """Where the session stands at the end of a record. Raises RecordError when that cannot be."""
    with believing(f"{record.path}: the events"):
        return Machine(procedure).fold(events_of(record))


def timeline(record: Record) -> Timeline:
    """Fold a record. Raises RecordError when an entry cannot have happened."""
    with believing(f"{record.path}: the events"):
        return _timeline(record)


def _timeline(record: Record) -> Timeline:
    procedure = loaded_of(record).procedure
    if is_rehearsed(record):
        return rehearsed(record, procedure)
    machine = Machine(procedure)
    state = State()
    moments: list[Moment] = []
    replies: dict[str, list[AnyEvent]] = {}
    confirmed: dict[tuple[str, int], tuple[int, tuple[AnyEvent, ...]]] = {}
    tries: dict[str, int] = {}
    ended_by = None
    for entry in record.entries:
        if entry.kind != "event":
            moments += other_moment(entry, _step_id(machine, state))
            continue
        event = from_json(entry.body["event"])
        before = state
        try:
            state, says = machine.step(state, event)
        except Exception as fault:
            raise RecordError(f"{record.path}: entry {entry.n} cannot have happened: {fault}") from fault
        step_id = _step_id(machine, before)
        if isinstance(event, Missed) and event.why == "unclear":
            tries[step_id] = tries.get(step_id, 0) + 1
        if isinstance(event, Replied | Sealed) and _answers(machine, before, event):
            replies.setdefault(step_id, []).append(event)
        for done in state.done:
            if done not in before.done:
                confirmed[done.step, done.at_ms] = entry.n, tuple(replies.pop(done.step, ()))
        ended_by = entry.n if state.ended and ended_by is None else ended_by
        # What was said then, where the record tells: later versions say the same things better.
        said = _said(entry.body.get("says")) or tuple(say.text for say in says)
        heard = told(event, machine.allowed(before))
        moments.append(Moment(event.at_ms, step_id, heard, _decided(before, state), said, entry.n, event))
    standing = tuple(_standing(procedure, state, confirmed, tries))
    return Timeline(procedure, state, tuple(moments), standing, state.at_ms, state.performer, ended_by=ended_by)


def told(event: AnyEvent, phrases: Container[str]) -> str:
    """An event in words; `phrases` could be said then."""
    match event:
        case Started():
            return "the session begins"
        case Replied():
            return f'"{event.phrase}"' + (" (typed)" if event.by == "key" else "")
        case Missed():
            near = f', nearest "{event.nearest}"' if event.nearest in phrases else ""
            return f"not taken: {why_not(event.why, event.nearest, event.reason, phrases) or event.why}{near}"
        case Silent():
            return "nobody spoke"
        case TimeUp():
            return f"time is up: {event.timer.split('/', maxsplit=1)[0]}"
        case Sealed():
            return "a figure under seal" + (" (typed)" if event.by == "key" else "")
        case Opened():
            second = f" and {event.second}" if event.second is not None else ""
            return f"figures opened: {event.first}{second}"
        case Resumed():
            return "the session goes on after an interruption"


def _said(says: object) -> tuple[str, ...]:
    """The texts of what an entry says was said."""
    return texts([say.get("text") for say in says if isinstance(say, Mapping)]) if isinstance(says, list) else ()


def _step_id(machine: Machine, state: State) -> str:
    step = machine.current(state)
    return "" if step is None else step.id


def _decided(before: State, after: State) -> str:
    if after.status != before.status:
        return after.status + (f": {after.outcome}" if after.outcome else "")
    gone = undone(before, after)
    parts = [f"{done.step} {done.note or 'confirmed'}" for done in newly_done(before, after)]
    if gone:
        parts.append(f"to be done again: {', '.join(gone)}")
    if len(after.frames) > len(before.frames):
        parts.append(f"branch {after.frames[-1].branch}")
    return "; ".join(parts)


def _answers(machine: Machine, before: State, event: Replied | Sealed) -> bool:
    """Whether a reply answered the step, rather than being one of the program's own words such as `why`."""
    if isinstance(event, Sealed):
        return True
    meaning = machine.allowed(before)[event.phrase]
    return meaning.kind not in ("control", "branch") or meaning.arg in ("right", "leave out")


def _standing(
    procedure: Procedure,
    state: State,
    confirmed: Mapping[tuple[str, int], tuple[int, tuple[AnyEvent, ...]]],
    tries: Mapping[str, int],
) -> Iterator[Confirmed]:
    last_ms = 0
    for done in state.done:
        n, given = confirmed[done.step, done.at_ms]
        events = [event for event in given if isinstance(event, Replied | Sealed)]
        value = state.values.get(done.step)
        yield Confirmed(
            step=done.step,
            title=procedure.step(done.step).title,
            phrases=tuple(event.phrase if isinstance(event, Replied) else "(hidden)" for event in events),
            value="" if value is None else value.written(),
            by=" and ".join(dict.fromkeys(event.by for event in events)),
            engine=" and ".join(dict.fromkeys(event.engine for event in events if event.engine)),
            at_ms=done.at_ms,
            took_ms=done.at_ms - last_ms,
            tries=tries.get(done.step, 0),
            note=_note(done),
            n=n,
        )
        last_ms = done.at_ms


def _note(done: Done) -> str:
    return (done.note + (f" in {done.branch}" if done.branch else "")).strip()
