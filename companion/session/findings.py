"""What an examiner would note about a rehearsal. Pure data: made by judging, kept in the record, read by the review.

Every finding points to the words it rests on and to when they were said, so that it can be contested.
"""

from collections.abc import Mapping
from typing import Any, Literal, get_args

from pydantic import Field

from companion.speech.values import Frozen

FINDINGS_VERSION = 3
"""Raised whenever the meaning of a finding changes; each judgement says which it was made with.

Since 2 a critical step in doubt holds back `passed`. Since 3 a rehearsal whose critical steps nobody can recognise is
`not judged`, and one in which no step was said is never passed.
"""

_NAMES_UNRECOGNISABLE = 3

JUDGED = "judged"
"""Kind of the record's entry that holds a `Judgement`. The last of them in a record counts."""

Kind = Literal[
    "omitted", "out of order", "too short", "wrong value", "not independent", "hint", "hesitation", "unclear"
]
"""omitted: never said or done. out of order: before a step it must follow. too short: less than its shortest time.
wrong value: a figure that is not the one due. not independent: the second person knew or was told the first figure.
hint: help was asked for. hesitation: a long silence before it. unclear: it may have been said, and was not clear."""

KINDS: tuple[Kind, ...] = get_args(Kind)

Outcome = Literal["passed", "not passed", "undecided", "not judged"]
"""undecided: nothing but doubt is against it, and the educator decides. not judged: steps that it depends on cannot be
recognised, so that nobody can say whether they were left out."""


class Heard(Frozen):
    """Words of one utterance. Times are whole milliseconds of session time."""

    text: str
    """As heard, or typed; a note in its place where it may have named a person."""
    at_ms: int = Field(ge=0)
    until_ms: int = Field(ge=0)
    n: int = Field(ge=0)
    """Number of the utterance in the session, from 0."""


class Finding(Frozen):
    """One thing to tell the student."""

    kind: Kind
    step: str
    """Id of the step it is about."""
    title: str
    """Title of that step."""
    critical: bool = False
    """It is about a critical step, and by itself fails the rehearsal where the must-pass rule holds."""
    reason: str
    """What was found, as one plain sentence."""
    effect: str = ""
    """What it could have caused, or why it matters; empty where the procedure does not say."""
    needed: str = ""
    """For `out of order`: id of the step that had to come first."""
    heard: tuple[Heard, ...] = ()
    """The words it rests on; none for what was never said."""
    at_ms: int | None = None
    """When it happened, in session time; None for what never did."""


class Mark(Frozen):
    """A step that was verbalised, or confirmed in a prompted session: the first time counts."""

    step: str
    title: str
    critical: bool
    heard: Heard
    at_ms: int = Field(ge=0)
    """When its own words began, in session time; within an utterance it is reckoned from its place in the text."""


class Judgement(Frozen):
    """The whole of a rehearsal as judged."""

    version: int = FINDINGS_VERSION
    help: Literal["full", "headings", "none"]
    only: tuple[str, ...] = ()
    """Ids of the steps rehearsed; empty for all."""
    performer: str = ""
    """The student's tag."""
    must_pass: bool = True
    """Whether a critical finding fails the rehearsal, and a critical step in doubt keeps it from being passed."""
    passed: bool
    """`outcome` tells the whole of it."""
    not_judged: str = ""
    """Why it cannot be judged, as the end of a sentence; empty where it is."""
    unrecognisable: tuple[str, ...] = ()
    """Ids of the steps due of which the file does not say in which words they are said: neither said nor left out."""
    marks: tuple[Mark, ...] = ()
    """In the order said."""
    findings: tuple[Finding, ...] = ()
    expected: tuple[str, ...] = ()
    """Ids of the steps that were due, in the order of the file."""
    took_ms: int = Field(ge=0)
    practise: tuple[str, ...] = ()
    """At most three sentences: what to practise first, and why."""

    def of(self, step: str) -> tuple[Finding, ...]:
        """The findings about one step."""
        return tuple(finding for finding in self.findings if finding.step == step)

    @property
    def outcome(self) -> Outcome:
        """The one word for how it went, wherever that is told."""
        if self.not_judged:
            return "not judged"
        if self.undecided:
            return "undecided"
        return "passed" if self.passed else "not passed"

    @property
    def undecided(self) -> bool:
        """Nothing but doubt keeps it from being passed: that is not the program's to say."""
        if self.passed or self.not_judged:
            return False
        return bool(self.doubtful) and not any(finding.critical for finding in self.findings)

    @property
    def doubtful(self) -> tuple[Finding, ...]:
        """Steps that may have been said, in the words given where some are their own: neither said nor left out until
        the educator decides. Values that may be right, too."""
        return tuple(
            finding
            for finding in self.findings
            if finding.kind == "unclear" and finding.step not in self.unrecognisable
        )


def judgement_from_json(body: Mapping[str, Any]) -> Judgement:
    """The judgement in the body of a `judged` entry. Raises pydantic's ValidationError (a ValueError)."""
    judgement = Judgement.model_validate(dict(body))
    if judgement.version >= _NAMES_UNRECOGNISABLE:
        return judgement
    # Until then only what could not be recognised was unclear without any words.
    unknown = tuple(each.step for each in judgement.findings if each.kind == "unclear" and not each.heard)
    return judgement.model_copy(update={"unrecognisable": unknown})


def judgement_to_json(judgement: Judgement) -> dict[str, Any]:
    """The body of a `judged` entry: JSON values without floats."""
    return judgement.model_dump(mode="json")
