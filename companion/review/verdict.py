"""What became of a session: one word for it, and what the educators decided where the program was in doubt. Pure.

A critical step in doubt is decided by who reads the words. One decision is enough; where markers decide differently the
step stays in doubt until they agree.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from companion.review.marks import Decision, Marks
from companion.review.told import Course
from companion.session import findings
from companion.session.findings import Judgement

Outcome = findings.Outcome | Literal["finished", "abandoned", "open"]
"""finished, abandoned: of a guided session; open: it did not come to an end; the others are of a rehearsal."""

OUTCOMES: tuple[Outcome, ...] = (*get_args(findings.Outcome), "finished", "abandoned", "open")

WORDS: Mapping[str, str] = {"undecided": "waits for you", "open": "not ended"}
"""How an educator is told of an outcome, where its own word does not do."""


def in_words(outcome: str) -> str:
    """An outcome as the pages show it."""
    return WORDS.get(outcome, outcome)


@dataclass(frozen=True)
class Doubt:
    """One step in doubt, and who decided what."""

    step: str
    said: tuple[str, ...] = ()
    """Tags of the markers who decided that it was said."""
    not_said: tuple[str, ...] = ()

    @property
    def settled(self) -> Decision | None:
        """What they agree on; None where nobody decided, or not all alike."""
        if bool(self.said) == bool(self.not_said):
            return None
        return "said" if self.said else "not said"

    @property
    def in_words(self) -> str:
        """Such as `said, by marker 27`."""
        parts = [
            f"{decision}, by marker {' and '.join(tags)}"
            for decision, tags in (("said", self.said), ("not said", self.not_said))
            if tags
        ]
        if len(parts) == 2:
            return f"still undecided: {'; '.join(parts)}"
        return parts[0] if parts else "not decided yet"


@dataclass(frozen=True)
class Verdict:
    """What became of a session."""

    outcome: Outcome
    doubts: tuple[Doubt, ...] = ()

    def doubt(self, step: str) -> Doubt | None:
        """The doubt about one step; None where there is none."""
        return next((doubt for doubt in self.doubts if doubt.step == step), None)


def verdict(course: Course, marks: Iterable[Marks]) -> Verdict:
    """The verdict on a session; `marks` are those that are believed."""
    if not course.rehearsed:
        status = course.status
        return Verdict("finished" if status == "finished" else "abandoned" if status == "abandoned" else "open")
    return Verdict("open") if course.judgement is None else judged(course.judgement, marks)


def judged(judgement: Judgement, marks: Iterable[Marks]) -> Verdict:
    """The verdict on a rehearsal that was judged."""
    believed = tuple(marks)
    doubts = tuple(_doubt(step, believed) for step in dict.fromkeys(each.step for each in judgement.doubtful))
    settled = {doubt.settled for doubt in doubts}
    if judgement.not_judged:
        return Verdict("not judged", doubts)
    if judgement.must_pass and "not said" in settled:
        return Verdict("not passed", doubts)
    if judgement.undecided:
        return Verdict("undecided" if None in settled else "passed", doubts)
    return Verdict(judgement.outcome, doubts)


def _doubt(step: str, marks: tuple[Marks, ...]) -> Doubt:
    found = {each.marker: item.decision for each in marks if (item := each.of(step)) is not None}
    said, not_said = (tuple(tag for tag, given in found.items() if given == wanted) for wanted in ("said", "not said"))
    return Doubt(step, said, not_said)
