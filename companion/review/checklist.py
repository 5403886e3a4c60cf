"""What the program says of each step of one session: the column beside the educator's own marks."""

from dataclasses import dataclass

from companion.procedure.due import is_due
from companion.review.told import Confirmed, Timeline
from companion.session.findings import Finding, Judgement


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


def checklist(told: Timeline) -> tuple[CheckLine, ...]:
    """The main steps in the order of the procedure, then those of branches that were done."""
    judgement = told.judgement
    confirmed = {each.step: each for each in told.confirmed}
    main = {step.id for step in told.procedure.steps}
    lines = []
    for step in told.procedure.all_steps():
        if step.id not in main and step.id not in confirmed:
            continue
        done = confirmed.get(step.id)
        found: tuple[Finding, ...] = ()
        if told.rehearsed:
            found = () if judgement is None else judgement.of(step.id)
            words, good = _from_memory(step.id, done, judgement)
        else:
            due = is_due(told.procedure, told.state.values, step) is not False
            words, good = _guided(done, told) if due or done is not None else ("not due", None)
        at_ms, took_ms = (None, None) if done is None else (done.at_ms, done.took_ms)
        tries = 0 if done is None else done.tries
        lines.append(CheckLine(step.id, step.title, step.critical, words, good, at_ms, took_ms, tries, found))
    return tuple(lines)


def _guided(done: Confirmed | None, told: Timeline) -> tuple[str, bool | None]:
    if done is None:
        return ("not reached", False) if told.state.ended else ("not reached yet", None)
    if done.note:
        return done.note if done.left_out else f"confirmed, {done.note}", False
    return "confirmed", True


def _from_memory(step: str, done: Confirmed | None, judgement: Judgement | None) -> tuple[str, bool | None]:
    if judgement is None:
        return ("said", None) if done is not None else ("not said so far", None)
    found = judgement.of(step)
    if any(finding in judgement.doubtful for finding in found):
        return "perhaps said", None
    if found:
        return ", ".join(dict.fromkeys(finding.kind for finding in found)), False
    if done is not None:
        return "said", True
    if step in judgement.unrecognisable:
        return "cannot be recognised", None
    return "not said" if step in judgement.expected else "not rehearsed", None
