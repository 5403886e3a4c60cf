"""Which sessions of a folder are looked at."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from companion.errors import UsageError
from companion.review.cohort.base import Base

_DAY = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])\Z")
_LONGEST = 300


@dataclass(frozen=True)
class Filters:
    """Empty means any. Days are UTC, and both ends count."""

    procedure: str = ""
    performer: str = ""
    way: str = ""
    """`guided` or `from memory`."""
    outcome: str = ""
    """One of `verdict.OUTCOMES`."""
    marked: str = ""
    """`yes` or `no`."""
    missed: str = ""
    """Id of a step that was left out, or never said."""
    doubt: str = ""
    """Id of a step that was perhaps said, and waits for the educator."""
    since: str = ""
    until: str = ""

    @classmethod
    def of(cls, given: Mapping[str, str]) -> "Filters":
        """From the words of an address. Raises UsageError for what no filter can be."""
        found = {field.name: given.get(field.name, "").strip() for field in fields(cls)}
        for name in ("since", "until"):
            if found[name] and not _DAY.match(found[name]):
                raise UsageError(f"{name} `{found[name][:40]}`: a day such as 2030-03-04 is accepted")
        if found["marked"] not in ("", "yes", "no"):
            raise UsageError(f"marked `{found['marked'][:40]}`: yes or no is accepted")
        if any(len(text) > _LONGEST for text in found.values()):
            raise UsageError(f"a filter takes up to {_LONGEST} characters")
        return cls(**found)

    def where(self) -> tuple[str, list[Any]]:
        """The condition on `sessions`, with its values."""
        parts, values = ["true"], []
        for name in ("procedure", "performer", "way", "outcome"):
            if getattr(self, name):
                parts.append(f"sessions.{name} = ?")
                values.append(getattr(self, name))
        if self.since:
            parts.append("sessions.begun >= ?")
            values.append(self.since)
        if self.until:
            parts.append("left(sessions.begun, 10) <= ?")
            values.append(self.until)
        if self.marked:
            negated = "NOT " if self.marked == "no" else ""
            parts.append(f"{negated}EXISTS (SELECT 1 FROM marks WHERE marks.file = sessions.file AND fault = '')")
        if self.missed:
            parts.append("EXISTS (SELECT 1 FROM lapsed WHERE lapsed.file = sessions.file AND lapsed.step = ?)")
            values.append(self.missed)
        if self.doubt:
            parts.append(
                "EXISTS (SELECT 1 FROM doubts WHERE doubts.file = sessions.file AND doubts.step = ? AND settled = '')"
            )
            values.append(self.doubt)
        return " AND ".join(parts), values

    def items(self) -> dict[str, str]:
        """Those that are set, for an address."""
        found = {field.name: str(getattr(self, field.name)) for field in fields(self)}
        return {name: text for name, text in found.items() if text}


@dataclass(frozen=True)
class Choices:
    """What can be filtered for."""

    procedures: tuple[tuple[str, str], ...]
    """Id and title."""
    performers: tuple[str, ...]
    outcomes: tuple[str, ...]
    markers: tuple[str, ...]


def choices(base: Base) -> Choices:
    """What the folder's sessions have between them."""
    procedures = base.rows(
        "SELECT sessions.procedure, max(title) FROM sessions LEFT JOIN procedures USING (sha256) "
        "WHERE sessions.procedure IS NOT NULL GROUP BY 1 ORDER BY 1"
    )
    return Choices(
        tuple((name, title or name) for name, title in procedures),
        tuple(
            name for (name,) in base.rows("SELECT DISTINCT performer FROM sessions WHERE performer <> '' ORDER BY 1")
        ),
        tuple(name for (name,) in base.rows("SELECT DISTINCT outcome FROM sessions ORDER BY 1")),
        tuple(name for (name,) in base.rows("SELECT DISTINCT marker FROM marks WHERE fault = '' ORDER BY 1")),
    )


def largest_group(base: Base, filters: Filters) -> Filters:
    """The same, narrowed to sessions of one procedure and one way: those asked for, else the largest such group. What
    has not ended makes no group large, and where nothing fits the filters stay as they are."""
    where, values = Filters(**{**filters.items(), "outcome": "", "missed": "", "doubt": ""}).where()
    found = base.rows(
        f"SELECT procedure, way FROM sessions WHERE procedure IS NOT NULL AND {where} GROUP BY ALL "
        "ORDER BY count(*) FILTER (outcome <> 'open') DESC, count(*) DESC, procedure, way LIMIT 1",
        values,
    )
    return replace(filters, procedure=found[0][0], way=found[0][1]) if found else filters
