"""Progress over time, folded from the judgements in a student's records: per step, and what is due again.

Nothing is stored beside the records. When a step is due is worked out by FSRS (the library `fsrs`, version 6 of the
algorithm) from how it went each time; without its random spread, so that the same records give the same dates.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from fsrs import Card, Rating, Scheduler

from companion.procedure.model import Procedure
from companion.session.findings import Judgement

_SCHEDULER = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)

_AGAIN = {"omitted", "wrong value", "not independent"}
_HARD = {"out of order", "too short", "hint", "hesitation", "unclear"}


@dataclass(frozen=True)
class Sitting:
    """One judged rehearsal."""

    procedure: str
    """Id of the procedure."""
    at: datetime
    """When it began, UTC."""
    judgement: Judgement


@dataclass(frozen=True)
class StepProgress:
    """How one step has gone."""

    step: str
    title: str
    critical: bool
    went: tuple[str, ...]
    """For each sitting it was due in, the worst that was found (a kind of finding), or `well`."""
    due: datetime | None
    """When to rehearse it again; None where it never was."""

    @property
    def weak(self) -> bool:
        """It went wrong the last time."""
        return bool(self.went) and self.went[-1] != "well"

    @property
    def strength(self) -> tuple[int, bool, float]:
        """Least for what most needs work: how the last time went, critical first, then how often it went well."""
        last = self.went[-1] if self.went else "well"
        grade = 0 if last in _AGAIN else 1 if last in _HARD else 2
        return grade, not self.critical, sum(each == "well" for each in self.went) / max(1, len(self.went))


def weakest_first(steps: Sequence[StepProgress]) -> list[StepProgress]:
    """Those that were rehearsed; steps alike in strength in the order of the file."""
    return sorted((step for step in steps if step.due is not None), key=lambda step: step.strength)


def progress(procedure: Procedure, sittings: Sequence[Sitting]) -> list[StepProgress]:
    """Each main step, in the order of the file, over the sittings of one student, oldest first."""
    ordered = sorted(sittings, key=lambda sitting: sitting.at)
    return [
        StepProgress(step.id, step.title, step.critical, *_step(step.id, step.critical, number, ordered))
        for number, step in enumerate(procedure.steps)
    ]


def _step(
    step: str, critical: bool, number: int, sittings: Sequence[Sitting]
) -> tuple[tuple[str, ...], datetime | None]:
    """How it went, and when it is due: at once after a critical lapse, else when FSRS says."""
    card = Card(card_id=number)
    went: list[str] = []
    lapsed: datetime | None = None
    for sitting in sittings:
        if step in sitting.judgement.expected and step not in sitting.judgement.unrecognisable:
            kinds: list[str] = [finding.kind for finding in sitting.judgement.of(step)]
            worst = next((kind for kind in kinds if kind in _AGAIN), None) or next(iter(kinds), "well")
            went.append(worst)
            card, _ = _SCHEDULER.review_card(card, _rating(worst, sitting.judgement.help), sitting.at)
            lapsed = sitting.at if critical and worst in _AGAIN else None
    return tuple(went), (lapsed or card.due) if went else None


def _rating(worst: str, level: str) -> Rating:
    """Said after a prompt is not yet known by heart: it counts as hard."""
    if worst in _AGAIN:
        return Rating.Again
    return Rating.Hard if worst in _HARD or level == "full" else Rating.Good


def due(steps: Sequence[StepProgress], now: datetime, within: timedelta = timedelta()) -> list[StepProgress]:
    """Steps due by `now` (and `within` so long after it), longest overdue first; those never rehearsed are not."""
    found = [(step.due, step) for step in steps if step.due is not None and step.due <= now + within]
    return [step for _, step in sorted(found, key=lambda pair: pair[0])]


def weak_stretch(procedure: Procedure, steps: Sequence[StepProgress], now: datetime) -> tuple[str, ...]:
    """Ids of the steps that went wrong or are due, each with the one before it, which leads to it; in file order."""
    wanted = {step.step for step in steps if step.weak} | {step.step for step in due(steps, now)}
    order = [step.id for step in procedure.steps]
    lead = {order[max(0, order.index(step) - 1)] for step in wanted}
    return tuple(step for step in order if step in wanted | lead)
