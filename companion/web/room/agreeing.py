"""How far two markers agree."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from companion.errors import UsageError
from companion.exports.spreadsheet import to_csv
from companion.review.cohort.filters import Filters, choices
from companion.review.cohort.markers import Together, together
from companion.review.marks import RATINGS
from companion.web.room.answering import address, download, shown
from companion.web.room.room import Room
from companion.web.room.session import paper_style


def agreeing(room: Room, request: Request) -> Response:
    """The page: two markers, over the sessions that both marked."""
    return shown("agreement.html", **_shown(room, request))


def agreeing_paper(room: Room, request: Request) -> Response:
    """The same as one file that needs nothing else."""
    made = shown("agreement_paper.html", **_shown(room, request), style=paper_style())
    return download(bytes(made.body), "agreement.html", "text/html; charset=utf-8")


def agreeing_csv(room: Room, request: Request) -> Response:
    """Step by step."""
    found = _shown(room, request)["found"]
    if not isinstance(found, Together):
        raise UsageError("two markers are needed, each with marks of the same sessions")
    names = ("step", "title", "judged_by_both", "agreed")
    return download(to_csv(names, found.steps), "agreement.csv", "text/csv")


def _shown(room: Room, request: Request) -> dict[str, Any]:
    filters = Filters.of(request.query_params)
    with room.base() as base:
        offered = choices(base)
        first, second = (request.query_params.get(name, "") for name in ("first", "second"))
        if not first and not second and len(offered.markers) >= 2:
            first, second = offered.markers[:2]
        found = together(base, first, second, filters) if first and second else None
    chosen = {**filters.items(), "first": first, "second": second}
    return {
        "folder": room.folder.name,
        "choices": offered,
        "filters": filters,
        "first": first,
        "second": second,
        "found": found,
        "ratings": {str(number): name for number, name in RATINGS.items()},
        "table": address("agreement.csv", **chosen),
        "to_paper": address("agreement", "paper.html", **chosen),
    }
