"""The class: which steps are missed, late or out of order, what is misheard, how long it takes, where the cut lies."""

from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from companion.errors import UsageError
from companion.exports.source import CAUTION
from companion.exports.spreadsheet import to_csv
from companion.review.cohort import figures
from companion.review.cohort.base import Base
from companion.review.cohort.filters import Filters, choices, largest_group
from companion.review.cohort.markers import cut, marked
from companion.review.cut_score import LEAST
from companion.review.marks import BORDERLINE, RATINGS
from companion.review.verdict import OUTCOMES
from companion.web.room import charts
from companion.web.room.answering import address, download, shown
from companion.web.room.room import Room
from companion.web.room.session import paper_style

TABLES = ("steps", "phrases", "cut")

_STEPS = (
    *("step", "title", "critical", "branch", "due", "done", "missed", "doubtful", "late", "early", "again", "unclear"),
    *("low_ms", "median_ms", "high_ms", "most_ms"),
)


def class_view(room: Room, request: Request) -> Response:
    """The page of a class: the sessions of one procedure and one way that the filters leave."""
    return shown("class.html", **_shown(room, request), linked=True)


def class_paper(room: Room, request: Request) -> Response:
    """The same as one file that needs nothing else."""
    made = shown("class_paper.html", **_shown(room, request), style=paper_style(), linked=False)
    return download(bytes(made.body), "class.html", "text/html; charset=utf-8")


def class_csv(room: Room, request: Request) -> Response:
    """One of its tables."""
    name = request.path_params["table"].removesuffix(".csv")
    with room.base() as base:
        filters = largest_group(base, Filters.of(request.query_params))
        if name == "steps":
            rows = [[getattr(each, column) for column in _STEPS] for each in figures.steps(base, filters)]
            data = to_csv([column.replace("early", "out_of_order") for column in _STEPS], rows)
        elif name == "phrases":
            worst = figures.phrases(base, filters, 10_000)
            data = to_csv(("phrase", "unclear", "taken"), [(each.phrase, each.unclear, each.taken) for each in worst])
        elif name == "cut":
            found = marked(base, filters)
            data = to_csv(("file", "marker", "rating", "score"), [(m.file, m.marker, m.rating, m.score) for m in found])
        else:
            raise UsageError(f"there is no such table; accepted: {', '.join(TABLES)}")
    return download(data, f"class-{name}.csv", "text/csv")


def _shown(room: Room, request: Request) -> dict[str, Any]:
    with room.base() as base:
        offered = choices(base)
        filters = largest_group(base, Filters.of(request.query_params))
        steps = figures.steps(base, filters)
        counted = {
            "whole": figures.whole(base, filters),
            "kinds": figures.kinds(base, filters),
            "phrases": figures.phrases(base, filters),
            **_cut(base, filters),
        }
    main = [each for each in steps if not each.branch]
    return {
        **counted,
        "folder": room.folder.name,
        "filters": filters,
        "choices": offered,
        "title": dict(offered.procedures).get(filters.procedure, "No sessions"),
        "steps": steps,
        "caution": CAUTION,
        "order_plot": _order(main),
        "time_plot": _times(main),
        "phrase_plot": charts.bars(
            "Phrases most often not clearly heard",
            ("not clear", "taken"),
            [(each.phrase, (each.unclear, each.taken)) for each in counted["phrases"]],
        ),
        "faults": room.taken.faults[:20],
        "tables": {name: address("class", f"{name}.csv", **filters.items()) for name in TABLES},
        "to_missed": {each.step: _to(filters, missed=each.step) for each in steps if each.missed},
        "to_doubt": {each.step: _to(filters, doubt=each.step) for each in steps if each.doubtful},
        "to_outcome": {name: _to(filters, outcome=name) for name in OUTCOMES},
        "to_paper": address("class", "paper.html", **filters.items()),
    }


def _to(filters: Filters, **more: str) -> str:
    """The list of the sessions of this class of which something is so."""
    return address("", **{**filters.items(), **more})


def _order(steps: list[figures.StepFigures]) -> Markup | str:
    """Steps without any trouble stand in the table only; empty where that is all of them."""
    rows = [(each.title, (each.missed, each.late, each.early, each.again)) for each in steps]
    troubled = [(title, counts) for title, counts in rows if sum(counts)]
    if not troubled:
        return ""
    return charts.bars(
        "Sessions in which a step was missed, late, out of order, or had to be done again",
        ("missed", "late", "out of order", "done again"),
        troubled,
    )


def _times(steps: list[figures.StepFigures]) -> Markup:
    rows: list[tuple[str, tuple[float, float, float, float] | None]] = []
    for each in steps:
        times = (each.low_ms, each.median_ms, each.high_ms, each.most_ms)
        low, median, high, most = (0.0 if time is None else time / 1000 for time in times)
        rows.append((each.title, None if each.median_ms is None else (low, median, high, most)))
    return charts.boxes("Time that each step took, in seconds", rows)


def _cut(base: Base, filters: Filters) -> dict[str, Any]:
    found = marked(base, filters)
    try:
        line = cut(found)
    except UsageError as fault:
        return {"cut": None, "cut_plot": "", "marked": found, "no_cut": str(fault), "few": False, "ratings": RATINGS}
    points = [(each.rating, each.score) for each in found]
    plot = charts.scatter(
        f"Checklist score over global rating; the line gives {line.cut:.1f} per cent at the borderline",
        points,
        tuple(RATINGS.values()),
        (line.intercept, line.slope),
        BORDERLINE,
    )
    return {"cut": line, "cut_plot": plot, "marked": found, "no_cut": "", "few": line.n < LEAST, "ratings": RATINGS}
