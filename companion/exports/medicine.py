"""What was given, read off the record: only what was said and confirmed, never worked out anew."""

from dataclasses import dataclass
from typing import Literal

from companion.exports.source import Source
from companion.procedure.model import Medicine
from companion.speech.values import Value

Given = Literal["given", "not given", "not known", "under way"]


@dataclass(frozen=True)
class Administration:
    """The medicine of a session. `dose`, `kind` and `site` are None where they do not stand in the record."""

    medicine: Medicine
    given: Given
    n: int
    """Number of the entry that says so."""
    why: str
    """Why it was not given, or not known to be; empty otherwise."""
    dose: Value | None
    kind: Value | None
    site: Value | None

    @property
    def name(self) -> str:
        """`Insulin, rapid acting`."""
        return self.medicine.name + (f", {self.kind.text}" if self.kind else "")


def administration(source: Source) -> Administration | None:
    """What became of the procedure's medicine; None where it has none, its giving was not reached yet, or it was
    only talked about.

    When the session was abandoned while giving was asked for, how much went in is not in the record: then no dose is
    stated at all.
    """
    medicine, state = source.told.procedure.medicine, source.told.state
    if medicine is None or source.told.rehearsed:
        return None
    reached = medicine.given in source.told.due
    standing = [step for step in source.told.confirmed if step.step == medicine.given and not step.left_out]
    if standing:
        given: Given = "given"
        n, why = standing[-1].n, ""
    elif source.told.ended_by is not None:
        given = "not known" if reached else "not given"
        n, why = source.told.ended_by, state.outcome or "left out"
    elif reached:
        given, n, why = "under way", source.last.n, ""
    else:
        return None
    values = state.values
    return Administration(
        medicine=medicine,
        given=given,
        n=n,
        why=why,
        dose=values.get(medicine.dose) if given == "given" else None,
        kind=values.get(medicine.kind) if medicine.kind else None,
        site=values.get(medicine.site) if medicine.site else None,
    )
