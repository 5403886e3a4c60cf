"""What markers made of a class: how far two agree, and where the cut lies."""

from dataclasses import dataclass

from companion.errors import UsageError
from companion.review.agreement import Agreement, agreement
from companion.review.cohort.base import Base
from companion.review.cohort.filters import Filters
from companion.review.cohort.listing import titles_of
from companion.review.cut_score import CutScore, cut_score
from companion.review.marks import BORDERLINE, MARKS, RATINGS


@dataclass(frozen=True)
class Together:
    """Two markers over the sessions that both marked."""

    sessions: int
    items: Agreement | None
    """Over every step that both judged; None where there is none."""
    ratings: Agreement | None
    """Over the global ratings."""
    steps: tuple[tuple[str, str, int, int], ...]
    """Id and title of a step, judged by both, agreed; the least agreed on first."""


@dataclass(frozen=True)
class Marked:
    """One marking with both a score and a global rating."""

    file: str
    marker: str
    rating: int
    score: float


_BOTH = """
SELECT {what} FROM {table} AS one JOIN {table} AS two ON one.file = two.file{more}
JOIN sessions ON sessions.file = one.file WHERE one.marker = ? AND two.marker = ? AND {where}
"""


def together(base: Base, first: str, second: str, filters: Filters) -> Together:
    """How far two markers agree. Raises UsageError when they are one."""
    if first == second:
        raise UsageError(f"marker {first} agrees with nobody but {first}; two markers are needed")
    where, values = filters.where()
    whole = f"one.fault = '' AND two.fault = '' AND {where}"
    both = f"one.mark IS NOT NULL AND two.mark IS NOT NULL AND {where}"
    marked = _BOTH.format(what="one.file, one.rating, two.rating", table="marks", more="", where=whole)
    pairs = base.rows(marked, [first, second, *values])
    items = base.rows(
        _BOTH.format(what="one.step, one.mark, two.mark", table="items", more=" AND one.step = two.step", where=both),
        [first, second, *values],
    )
    by_step: dict[str, tuple[int, int]] = {}
    for step, one, two in items:
        n, same = by_step.get(step, (0, 0))
        by_step[step] = n + 1, same + (one == two)
    titles = titles_of(base, *by_step)
    rated = [(str(one), str(two)) for _, one, two in pairs if one is not None and two is not None]
    return Together(
        len(pairs),
        agreement([row[1] for row in items], [row[2] for row in items], MARKS) if items else None,
        agreement([one for one, _ in rated], [two for _, two in rated], [str(n) for n in RATINGS]) if rated else None,
        tuple(
            (step, titles[step], n, same)
            for step, (n, same) in sorted(by_step.items(), key=lambda each: (each[1][1] / each[1][0], each[0]))
        ),
    )


def marked(base: Base, filters: Filters) -> list[Marked]:
    """Every marking that can go into a cut score: signed with a known key, with a score and a rating."""
    where, values = filters.where()
    rows = base.rows(
        "SELECT marks.file, marker, rating, score FROM marks JOIN sessions USING (file) WHERE fault = '' AND known "
        f"AND rating IS NOT NULL AND score IS NOT NULL AND {where} ORDER BY marks.file, marker",
        values,
    )
    return [Marked(*row) for row in rows]


def cut(found: list[Marked]) -> CutScore:
    """The cut of a class, at the borderline. Raises UsageError where no line can be drawn."""
    return cut_score([each.rating for each in found], [each.score for each in found], BORDERLINE)
