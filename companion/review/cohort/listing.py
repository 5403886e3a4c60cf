"""The sessions of a folder, a line each."""

from dataclasses import dataclass

from companion.review.cohort.base import Base
from companion.review.cohort.filters import Filters


@dataclass(frozen=True)
class Line:
    """One session as its record tells it; not verified."""

    file: str
    begun: str
    procedure: str
    title: str
    performer: str
    way: str
    outcome: str
    """One of `verdict.OUTCOMES`, by what the record and the educators say."""
    took_ms: int
    unclear: int
    """Replies that were not clearly heard."""
    findings: int
    markers: str
    closed: bool


_LINES = """
SELECT file, begun, coalesce(sessions.procedure, ''), coalesce(title, sessions.procedure, ''), performer, way, outcome,
  coalesce(took_ms, 0), coalesce(unclear, 0), coalesce(found, 0), coalesce(markers, ''), coalesce(closed, false)
FROM sessions LEFT JOIN procedures USING (sha256)
LEFT JOIN (SELECT file, count(*) AS unclear FROM missed GROUP BY file) USING (file)
LEFT JOIN (SELECT file, count(*) AS found FROM findings GROUP BY file) USING (file)
LEFT JOIN (SELECT file, string_agg(marker, ', ' ORDER BY marker) AS markers FROM marks WHERE fault = '' GROUP BY file)
  USING (file)
"""


def titles_of(base: Base, *steps: str) -> dict[str, str]:
    """The titles of steps, by id; a step that no procedure here has is its own title."""
    rows = base.rows("SELECT step, any_value(title) FROM steps WHERE list_contains(?, step) GROUP BY step", [steps])
    return {step: step for step in steps} | dict(rows)


def count(base: Base, filters: Filters) -> int:
    """How many sessions there are."""
    where, values = filters.where()
    return int(base.rows(f"SELECT count(*) FROM sessions WHERE {where}", values)[0][0])


def lines(base: Base, filters: Filters, first: int = 0, most: int | None = None) -> list[Line]:
    """The newest first; `most` of them from number `first`, from 0."""
    where, values = filters.where()
    limit = "" if most is None else f" LIMIT {int(most)} OFFSET {int(first)}"
    found = base.rows(f"{_LINES} WHERE {where} ORDER BY begun DESC, file{limit}", values)
    return [Line(*row) for row in found]
