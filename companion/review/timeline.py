"""One record as a timeline: what was asked, heard and decided, and how long each step took."""

from collections.abc import Container, Mapping

from companion.errors import RecordError
from companion.machine.asking import why_not
from companion.machine.decided import Change, decided
from companion.machine.machine import Machine
from companion.procedure.loading.loader import Loaded, load_text
from companion.record.content import believing
from companion.record.reader import Read
from companion.review.course import EVENT, Fold, course_as_told
from companion.review.talked import is_rehearsed, other_moment, rehearsed, rehearsed_course, texts
from companion.review.told import Confirmed, Course, Moment, Timeline
from companion.session.events import (
    AnyEvent,
    AskedBack,
    By,
    How,
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
from companion.session.state import State
from companion.session.timers import Timer


def loaded_of(record: Read) -> Loaded:
    """The procedure a record was made with, from the record itself. Raises ProcedureError and RecordError."""
    with believing(f"{record.path}: line 1, the procedure"):
        opening = record.opening
        return load_text(opening["procedure_text"], str(record.path), opening.get("settings") or {}, judged=False)


def timeline(record: Read) -> Timeline:
    """Fold a record. Raises RecordError when an entry cannot have happened."""
    with believing(f"{record.path}: the events"):
        procedure = loaded_of(record).procedure
        return rehearsed(record, procedure) if is_rehearsed(record) else _guided(record, Machine(procedure))


def course_of(record: Read) -> Course:
    """What a session came to, by what its entries tell, which takes no machine; those of before entries told it are
    folded. Raises RecordError, and ProcedureError where it is folded."""
    with believing(f"{record.path}: the events"):
        told = rehearsed_course(record) if is_rehearsed(record) else course_as_told(record)
    return timeline(record) if told is None else told


def _guided(record: Read, machine: Machine) -> Timeline:
    state, fold = State(), Fold()
    moments: list[Moment] = []
    replies: dict[str, list[tuple[tuple[str, ...], Replied | Sealed]]] = {}
    given: dict[tuple[str, int], list[tuple[tuple[str, ...], Replied | Sealed]]] = {}
    for entry in record.entries:
        if entry.kind != EVENT:
            moments += other_moment(entry, fold.up)
            continue
        event = from_json(entry.body["event"])
        before, up = state, fold.up
        try:
            state, says = machine.step(before, event)
        except Exception as fault:
            raise RecordError(f"{record.path}: entry {entry.n} cannot have happened: {fault}") from fault
        change = decided(machine, before, state)
        if isinstance(event, Replied | Sealed) and _answers(machine, before, event):
            phrases = machine.stands_for(before, event) if isinstance(event, Replied) else ("(hidden)",)
            replies.setdefault(up, []).append((phrases, event))
        for came in change.done:
            given[came.step, entry.n] = replies.pop(came.step, [])
        fold.take(entry.n, event, change)
        # What was said then, where the record tells: later versions say the same things better.
        said = _said(entry.body.get("says")) or tuple(say.text for say in says)
        heard = told(event, machine.allowed(before))
        moments.append(Moment(event.at_ms, up, heard, _decided(before, state, change), said, entry.n, event))
    course = fold.course()
    standing = []
    for stood, done in zip(course.confirmed, state.done, strict=True):
        answers, value = given[stood.step, stood.n], state.values.get(stood.step)
        events = [event for _, event in answers]
        standing.append(
            Confirmed(
                **vars(stood) | {"note": (stood.note + (f" in {done.branch}" if done.branch else "")).strip()},
                title=machine.procedure.step(stood.step).title,
                phrases=tuple(phrase for phrases, _ in answers for phrase in phrases),
                value="" if value is None else value.written(),
                by=" and ".join(dict.fromkeys(event.by for event in events)),
                engine=" and ".join(dict.fromkeys(event.engine for event in events if event.engine)),
                tries=fold.tries[stood.step],
            )
        )
    return Timeline(
        **vars(course) | {"confirmed": tuple(standing)},
        procedure=machine.procedure,
        state=state,
        moments=tuple(moments),
    )


def told(event: AnyEvent, phrases: Container[str]) -> str:
    """An event in words; `phrases` could be said then."""
    match event:
        case Started():
            return "the session begins"
        case Replied():
            return _quoted(event) + _how(event.by, event.how, event.margin)
        case AskedBack():
            what = f"{_quoted(event)} asked back" if event.phrase else "a mere yes or no, answered by what counts"
            return what + _how(event.by, "own words" if event.phrase else "phrase", event.margin)
        case Missed():
            near = f', nearest "{event.nearest}"' if event.nearest in phrases else ""
            return f"not taken: {why_not(event.why, event.nearest, event.reason, phrases, 'en') or event.why}{near}"
        case Silent():
            return "nobody spoke"
        case TimeUp():
            return f"time is up: {Timer.parse(event.timer).step}"
        case Sealed():
            return "a figure under seal" + _how(event.by, event.how, event.margin)
        case Opened():
            second = f" and {event.second}" if event.second is not None else ""
            return f"figures opened: {event.first}{second}"
        case Resumed():
            return "the session goes on after an interruption"


def _quoted(event: Replied | AskedBack) -> str:
    return ", ".join(f'"{phrase}"' for phrase in event.phrases)


def _how(by: By, how: How, margin: str) -> str:
    """How it was given, where it was not simply said."""
    understood = {"phrase": "", "own words": f"in own words, margin {margin}", "asked back": "as asked back"}[how]
    parts = [part for part in ("typed" if by == "key" else "", understood) if part]
    return f" ({', '.join(parts)})" if parts else ""


def _said(says: object) -> tuple[str, ...]:
    """The texts of what an entry says was said."""
    return texts([say.get("text") for say in says if isinstance(say, Mapping)]) if isinstance(says, list) else ()


def _decided(before: State, after: State, change: Change) -> str:
    if after.status != before.status:
        return after.status + (f": {after.outcome}" if after.outcome else "")
    parts = [f"{done.step} {done.note or 'confirmed'}" for done in change.done]
    if change.undone:
        parts.append(f"to be done again: {', '.join(change.undone)}")
    if len(after.frames) > len(before.frames):
        parts.append(f"branch {after.frames[-1].branch}")
    return "; ".join(parts)


def _answers(machine: Machine, before: State, event: Replied | Sealed) -> bool:
    """Whether a reply answered the step, rather than being one of the program's own words such as `why`."""
    if isinstance(event, Sealed):
        return True
    meaning = machine.allowed(before)[event.phrase]
    return meaning.kind not in ("control", "branch") or meaning.arg in ("right", "leave out")
