"""A rehearsal told from its record: what was said when, and the steps that it said. The guided twin is `timeline`."""

from collections.abc import Iterator, Mapping
from typing import Any

from companion.errors import RecordError
from companion.procedure.model import Procedure
from companion.record.entry import Entry
from companion.record.reader import Record
from companion.review.told import Confirmed, Moment, Timeline, Uttered
from companion.session.findings import JUDGED, Judgement, judgement_from_json
from companion.session.state import State

BEGUN, UTTERANCE = "rehearsal", "utterance"
"""Kinds of entries that only a rehearsal has, beside `judged`."""


def is_rehearsed(record: Record) -> bool:
    """Whether it was talked through, rather than guided: its opening says with how much help."""
    return "rehearsal" in record.opening


def judgement_of(record: Record) -> Judgement | None:
    """What was made of a rehearsal: the last judgement in the record. Raises RecordError."""
    last = next((entry for entry in reversed(record.entries) if entry.kind == JUDGED), None)
    try:
        return None if last is None else judgement_from_json(last.body)
    except ValueError as fault:
        assert last is not None  # nothing else was read
        raise RecordError(f"{record.path}: entry {last.n} holds no judgement that can be read") from fault


def rehearsed(record: Record, procedure: Procedure) -> Timeline:
    """Fold the record of a rehearsal. Steps stand as judged, or, where it broke off before, as they were noted.

    Raises RecordError.
    """
    judgement = judgement_of(record)
    uttered = {each.body.get("n"): each for each in record.entries if each.kind == UTTERANCE}
    moments = tuple(moment for entry in record.entries for moment in other_moment(entry, ""))
    begun = next((entry.body for entry in record.entries if entry.kind == BEGUN), {})
    if judgement is None:
        said = list(_noted(record))
    else:
        said = [(mark.step, mark.at_ms, uttered.get(mark.heard.n), mark.heard.text) for mark in judgement.marks]
    found = {finding.step: finding.kind for finding in judgement.findings} if judgement else {}
    ended_by = max((entry.n for entry in record.entries if entry.kind == JUDGED), default=None)
    steps = {step.id: step.title for step in procedure.all_steps()}
    confirmed, last_ms = [], 0
    for step, at_ms, entry, text in said:
        confirmed.append(
            Confirmed(
                step=step,
                title=steps.get(step, step),
                phrases=(text,),
                value="",
                by=str(entry.body.get("by", "")) if entry is not None else "",
                engine="",
                at_ms=at_ms,
                took_ms=max(0, at_ms - last_ms),
                tries=0,
                note=found.get(step, ""),
                n=entry.n if entry is not None else ended_by or 0,
            )
        )
        last_ms = max(last_ms, at_ms)
    return Timeline(
        procedure=procedure,
        state=State(mode=str(record.opening.get("mode", "rehearsal"))),
        moments=moments,
        confirmed=tuple(confirmed),
        took_ms=judgement.took_ms if judgement else moments[-1].at_ms if moments else 0,
        performer=judgement.performer if judgement else str(begun.get("performer") or ""),
        rehearsed=True,
        judgement=judgement,
        ended_by=ended_by,
    )


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


def _noted(record: Record) -> Iterator[tuple[str, int, Entry | None, str]]:
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
