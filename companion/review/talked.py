"""A rehearsal told from its record: what was said when, and the steps that it said. The guided twin is `timeline`."""

from collections.abc import Iterator, Mapping
from typing import Any

from companion.errors import RecordError
from companion.procedure.model import Procedure
from companion.record.entry import Entry
from companion.record.reader import Read
from companion.review.told import Confirmed, Course, Moment, Timeline, Uttered
from companion.session.findings import JUDGED, Judgement, judgement_from_json
from companion.session.state import State

BEGUN, UTTERANCE = "rehearsal", "utterance"
"""Kinds of entries that only a rehearsal has, beside `judged`."""


def is_rehearsed(record: Read) -> bool:
    """Whether it was talked through, rather than guided: its opening says with how much help."""
    return "rehearsal" in record.opening


def judgement_of(record: Read) -> tuple[Judgement, int] | tuple[None, None]:
    """What was made of a rehearsal, and the number of the entry: the last judgement in the record. Raises
    RecordError."""
    last = next((entry for entry in reversed(record.entries) if entry.kind == JUDGED), None)
    if last is None:
        return None, None
    try:
        return judgement_from_json(last.body), last.n
    except ValueError as fault:
        raise RecordError(f"{record.path}: entry {last.n} holds no judgement that can be read") from fault


def rehearsed_course(record: Read) -> Course:
    """What a rehearsal came to. Steps stand as judged, or, where it broke off before, as they were noted. Raises
    RecordError."""
    judgement, ended_by = judgement_of(record)
    begun = next((entry.body for entry in record.entries if entry.kind == BEGUN), {})
    return Course(
        rehearsed=True,
        mode=str(record.opening.get("mode", "rehearsal")),
        performer=judgement.performer if judgement else str(begun.get("performer") or ""),
        status="new",
        took_ms=judgement.took_ms if judgement else record.entries[-1].at_ms,
        ended_by=ended_by,
        due=judgement.expected if judgement else (),
        confirmed=tuple(_steps(record, judgement, ended_by, {})),
        judgement=judgement,
    )


def rehearsed(record: Read, procedure: Procedure) -> Timeline:
    """Fold the record of a rehearsal. Raises RecordError."""
    course = rehearsed_course(record)
    titles = {step.id: step.title for step in procedure.all_steps()}
    standing = tuple(_steps(record, course.judgement, course.ended_by, titles))
    moments = tuple(moment for entry in record.entries for moment in other_moment(entry, ""))
    return Timeline(**vars(course) | {"confirmed": standing}, procedure=procedure, state=State(), moments=moments)


def _steps(
    record: Read, judgement: Judgement | None, judged_by: int | None, titles: Mapping[str, str]
) -> Iterator[Confirmed]:
    if judgement is None:
        said = list(_noted(record))
    else:
        uttered = {each.body.get("n"): each for each in record.entries if each.kind == UTTERANCE}
        said = [(mark.step, mark.at_ms, uttered.get(mark.heard.n), mark.heard.text) for mark in judgement.marks]
    found = {finding.step: finding.kind for finding in judgement.findings} if judgement else {}
    last_ms = 0
    for step, at_ms, entry, text in said:
        yield Confirmed(
            step=step,
            note=found.get(step, ""),
            n=entry.n if entry is not None else judged_by or 0,
            at_ms=at_ms,
            took_ms=max(0, at_ms - last_ms),
            title=titles.get(step, step),
            phrases=(text,),
            by=str(entry.body.get("by", "")) if entry is not None else "",
        )
        last_ms = max(last_ms, at_ms)


def other_moment(entry: Entry, step: str) -> Iterator[Moment]:
    """An entry that is no event, told; `step` is the one that is up."""
    body = entry.body
    heard, decided = {
        "fault": (f"{body.get('what')}: {body.get('detail')}", "noted"),
        "recovered": ("an unfinished last line was set aside", "noted"),
        "closed": ("the record is closed", str(body.get("outcome"))),
        BEGUN: ("the rehearsal begins", f"help: {body.get('help')}"),
        UTTERANCE: (f'"{body.get("text")}"' + (" (typed)" if body.get("by") == "key" else ""), _steps_told(body)),
        "hint": ("a hint was asked for", ""),
        JUDGED: ("the rehearsal is judged", _outcome(body)),
    }.get(entry.kind, ("", ""))
    if heard:
        steps = texts(body.get("steps"))
        where = steps[0] if entry.kind == UTTERANCE and steps else str(body.get("step") or step)
        spoke = _uttered(entry) if entry.kind == UTTERANCE else None
        yield Moment(entry.at_ms, where, heard, decided, texts(body.get("says")), entry.n, None, spoke)


def _noted(record: Read) -> Iterator[tuple[str, int, Entry | None, str]]:
    """The steps noted so far: id, session time, utterance, its words; what was taken back is not among them."""
    found: dict[str, tuple[str, int, Entry | None, str]] = {}
    for entry in record.entries:
        if entry.kind != UTTERANCE:
            continue
        for step in texts(entry.body.get("withdrawn")):
            found.pop(step, None)
        at_ms = {
            str(each.get("step")): each.get("at_ms")
            for each in entry.body.get("noted") or ()
            if isinstance(each, Mapping)
        }
        for step in texts(entry.body.get("steps")):
            when = at_ms.get(step)
            found[step] = step, when if isinstance(when, int) else entry.at_ms, entry, str(entry.body.get("text"))
    yield from found.values()


def _uttered(entry: Entry) -> Uttered:
    body = entry.body
    times = [body.get(name) for name in ("from_ms", "until_ms")]
    begun, done = (time if isinstance(time, int) else entry.at_ms for time in times)
    return Uttered(str(body.get("text")), begun, max(begun, done), str(body.get("by", "")))


def _steps_told(body: Mapping[str, Any]) -> str:
    taken = texts(body.get("withdrawn"))
    parts = [", ".join(texts(body.get("steps"))), f"taken back: {', '.join(taken)}" if taken else ""]
    return "; ".join(part for part in parts if part)


def _outcome(body: Mapping[str, Any]) -> str:
    try:
        return judgement_from_json(body).outcome
    except ValueError:
        return "in a form that cannot be read"


def texts(value: object) -> tuple[str, ...]:
    """The texts of a list in an entry, whatever else is in it."""
    return tuple(each for each in value if isinstance(each, str)) if isinstance(value, list) else ()
