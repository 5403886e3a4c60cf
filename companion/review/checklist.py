"""What the program says of each step of one session: the column beside the educator's own marks."""

from dataclasses import dataclass

from companion.core.due import is_due
from companion.core.findings import JUDGED, Finding, Judgement, judgement_from_json
from companion.errors import RecordError
from companion.record.reader import Record
from companion.review.timeline import Confirmed, Timeline


@dataclass(frozen=True)
class CheckLine:
    """One step."""

    step: str
    title: str
    critical: bool
    program: str
    """In a few words."""
    good: bool | None
    """Whether the program has nothing against it; None where it cannot tell."""
    at_ms: int | None
    took_ms: int | None
    tries: int
    findings: tuple[Finding, ...] = ()


def judgement_of(record: Record) -> Judgement | None:
    """What was made of a rehearsal from memory: the last judgement in the record. Raises RecordError."""
    bodies = [(entry.n, entry.body) for entry in record.entries if entry.kind == JUDGED]
    if not bodies:
        return None
    n, body = bodies[-1]
    try:
        return judgement_from_json(body)
    except ValueError as fault:
        raise RecordError(f"{record.path}: entry {n} holds no judgement that can be read") from fault


def checklist(told: Timeline, judgement: Judgement | None) -> tuple[CheckLine, ...]:
    """The main steps in the order of the procedure, then those of branches that were done."""
    confirmed = {each.step: each for each in told.confirmed}
    main = {step.id for step in told.procedure.steps}
    lines = []
    for step in told.procedure.all_steps():
        if step.id not in main and step.id not in confirmed:
            continue
        done = confirmed.get(step.id)
        if judgement is not None:
            lines.append(_from_memory(step.id, step.title, step.critical, judgement))
            continue
        due = is_due(told.procedure, told.state.values, step) is not False
        words, good = _guided(done, told) if due or done is not None else ("not due", None)
        at_ms, took_ms = (None, None) if done is None else (done.at_ms, done.took_ms)
        tries = 0 if done is None else done.tries
        lines.append(CheckLine(step.id, step.title, step.critical, words, good, at_ms, took_ms, tries))
    return tuple(lines)


def _guided(done: Confirmed | None, told: Timeline) -> tuple[str, bool | None]:
    if done is None:
        return ("not reached", False) if told.state.ended else ("not reached yet", None)
    if done.note:
        return done.note if "left out" in done.note else f"confirmed, {done.note}", False
    return "confirmed", True


def _from_memory(step: str, title: str, critical: bool, judgement: Judgement) -> CheckLine:
    found = judgement.of(step)
    mark = next((each for each in judgement.marks if each.step == step), None)
    if found:
        words = ", ".join(dict.fromkeys(finding.kind for finding in found))
    elif mark is not None:
        words = "said"
    else:
        words = "not judged" if step not in judgement.expected else "not said"
    good = False if found else True if mark is not None else None
    return CheckLine(step, title, critical, words, good, None if mark is None else mark.at_ms, None, 0, found)
