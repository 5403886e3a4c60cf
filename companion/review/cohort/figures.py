"""What a class does with one procedure: counted from the records, not verified. Times are whole milliseconds.

Quantiles are by linear interpolation (Hyndman and Fan, Am Stat 1996;50:361-5, type 7).
"""

from dataclasses import dataclass

from companion.review.cohort.base import Base
from companion.review.cohort.filters import Filters
from companion.session.findings import KINDS


@dataclass(frozen=True)
class StepFigures:
    """One step over all sessions looked at."""

    step: str
    title: str
    critical: bool
    branch: str
    """Id of the branch it belongs to; empty for the main steps."""
    due: int
    """Sessions in which it was asked, or due from memory."""
    done: int
    missed: int
    """Left out, or never said."""
    doubtful: int
    """Perhaps said; the educator has not decided yet."""
    late: int
    """Confirmed after its longest time, or only after a step that it has to come before."""
    early: int
    """Before a step it must follow: out of order."""
    again: int
    """Sessions in which it had to be done again."""
    unclear: int
    """Replies to it that were not clearly heard."""
    low_ms: float | None
    """Quarter, half and three quarters of the times it took, and nine tenths; None where it was never done."""
    median_ms: float | None
    high_ms: float | None
    most_ms: float | None


@dataclass(frozen=True)
class PhraseFigures:
    """A phrase that was not clearly heard."""

    phrase: str
    unclear: int
    """How often it was the nearest to what was not clear."""
    taken: int
    """How often it was clearly heard, or typed."""

    @property
    def share(self) -> float:
        """Of the times it was said, as far as that is known, in per cent."""
        return 100 * self.unclear / (self.unclear + self.taken)


@dataclass(frozen=True)
class Whole:
    """The sessions looked at."""

    sessions: int
    """That came to their end; only these are counted otherwise."""
    left_open: int
    outcomes: tuple[tuple[str, int], ...]
    """How many ended in which way, the commonest first."""
    least_ms: float | None
    low_ms: float | None
    median_ms: float | None
    high_ms: float | None
    most_ms: float | None


_CHOSEN = "WITH chosen AS (SELECT file, sha256, begun, way FROM sessions WHERE {where}) "
_ENDED = " AND outcome <> 'open'"

_STEPS = """,
titles AS (SELECT step, arg_max(title, begun) AS title, arg_max(critical, begun) AS critical,
    arg_max(branch, begun) AS branch, arg_max(place, begun) AS place
  FROM steps JOIN (SELECT sha256, max(begun) AS begun FROM chosen GROUP BY sha256) USING (sha256) GROUP BY step),
ours AS (SELECT done.* FROM done JOIN chosen USING (file)),
found AS (SELECT findings.* FROM findings JOIN chosen USING (file)),
asked AS (SELECT step, count(*) AS n FROM due JOIN chosen USING (file) GROUP BY step),
did AS (SELECT step, count(DISTINCT file) FILTER (note LIKE 'late%') AS late,
    quantile_cont(took_ms, [0.25, 0.5, 0.75, 0.9]) FILTER (NOT left_out) AS took FROM ours GROUP BY step),
fine AS (SELECT step, count(*) AS n FROM stood JOIN chosen USING (file) GROUP BY step),
gone AS (SELECT step, count(*) AS n FROM lapsed JOIN chosen USING (file) GROUP BY step),
unsure AS (SELECT step, count(*) AS n FROM doubts JOIN chosen USING (file) WHERE settled = '' GROUP BY step),
early AS (SELECT step, count(DISTINCT file) AS n FROM found WHERE kind = 'out of order' GROUP BY step),
late AS (SELECT needed AS step, count(DISTINCT file) AS n FROM found WHERE kind = 'out of order' GROUP BY needed),
redone AS (SELECT step, count(DISTINCT file) AS n FROM again JOIN chosen USING (file) GROUP BY step),
mumbled AS (SELECT step, count(*) AS n FROM missed JOIN chosen USING (file) GROUP BY step)
SELECT step, title, critical, branch, asked.n, coalesce(fine.n, 0),
  coalesce(gone.n, 0), coalesce(unsure.n, 0), coalesce(did.late, 0) + coalesce(late.n, 0), coalesce(early.n, 0),
  coalesce(redone.n, 0), coalesce(mumbled.n, 0), took[1], took[2], took[3], took[4]
FROM titles JOIN asked USING (step) LEFT JOIN did USING (step) LEFT JOIN fine USING (step)
LEFT JOIN gone USING (step) LEFT JOIN unsure USING (step)
LEFT JOIN early USING (step) LEFT JOIN late USING (step) LEFT JOIN redone USING (step) LEFT JOIN mumbled USING (step)
ORDER BY place
"""

_PHRASES = """
SELECT phrase, unclear, coalesce(taken, 0)
FROM (SELECT nearest AS phrase, count(*) AS unclear FROM missed JOIN chosen USING (file)
  WHERE nearest <> '' GROUP BY nearest)
LEFT JOIN (SELECT phrase, count(*) AS taken FROM replied JOIN chosen USING (file) GROUP BY phrase) USING (phrase)
ORDER BY unclear DESC, phrase LIMIT ?
"""

_WHOLE = """
SELECT count(*) FILTER (outcome <> 'open'), count(*) FILTER (outcome = 'open'),
  quantile_cont(took_ms, [0, 0.25, 0.5, 0.75, 1]) FILTER (outcome NOT IN ('open', 'abandoned'))
FROM sessions WHERE {where}
"""


def steps(base: Base, filters: Filters) -> list[StepFigures]:
    """Every step that was due, in the order of the procedure: main steps, then those of branches."""
    where, values = filters.where()
    return [StepFigures(*row) for row in base.rows(_CHOSEN.format(where=where + _ENDED) + _STEPS, values)]


def phrases(base: Base, filters: Filters, most: int = 15) -> list[PhraseFigures]:
    """Those most often not clearly heard, the worst first; a session need not have ended for that."""
    where, values = filters.where()
    return [PhraseFigures(*row) for row in base.rows(_CHOSEN.format(where=where) + _PHRASES, [*values, most])]


def whole(base: Base, filters: Filters) -> Whole:
    """Counts and times of the sessions as a whole; times are of those that were neither abandoned nor left open."""
    where, values = filters.where()
    ended, left_open, took = base.rows(_WHOLE.format(where=where), values)[0]
    query = f"SELECT outcome, count(*) FROM sessions WHERE {where}{_ENDED} GROUP BY 1 ORDER BY 2 DESC, 1"
    outcomes = tuple((outcome, n) for outcome, n in base.rows(query, values))
    return Whole(ended, left_open, outcomes, *(took or [None] * 5))


def kinds(base: Base, filters: Filters) -> list[tuple[str, int, int]]:
    """Of the rehearsals' findings: kind, how many, and in how many sessions."""
    where, values = filters.where()
    query = "SELECT kind, count(*), count(DISTINCT file) FROM findings JOIN chosen USING (file) GROUP BY kind"
    found = {kind: (n, files) for kind, n, files in base.rows(_CHOSEN.format(where=where + _ENDED) + query, values)}
    return [(kind, *found[kind]) for kind in KINDS if kind in found]
