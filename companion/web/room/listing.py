"""The list of sessions, with filters."""

from starlette.requests import Request
from starlette.responses import Response

from companion.exports.spreadsheet import to_csv
from companion.review.cohort.filters import Filters, choices
from companion.review.cohort.listing import Line, count, lines, titles_of
from companion.web.room.answering import address, download, shown
from companion.web.room.room import Room

PAGE = 100
"""Sessions on a page."""

_COLUMNS = (
    *("file", "begun", "procedure", "performer", "way", "outcome", "took_ms", "unclear", "findings"),
    *("markers", "closed"),
)


def sessions(room: Room, request: Request) -> Response:
    """The newest first."""
    filters = Filters.of(request.query_params)
    place = request.query_params.get("page", "1")
    number = int(place) if place.isascii() and place.isdigit() and len(place) < 7 else 1
    with room.base() as base:
        total = count(base, filters)
        pages = max(1, -(-total // PAGE))
        number = min(max(number, 1), pages)
        found = lines(base, filters, (number - 1) * PAGE, PAGE)
        offered = choices(base)
        every = count(base, Filters())
        waiting = count(base, Filters(outcome="undecided"))
        titles = titles_of(base, filters.missed, filters.doubt)
    return shown(
        "sessions.html",
        folder=room.folder.name,
        lines=found,
        links={line.file: address("session", line.file) for line in found},
        filters=filters,
        choices=offered,
        total=total,
        every=every,
        waiting=waiting,
        to_waiting=address("", outcome="undecided"),
        narrowed=[
            f"{titles[step]} was {what}"
            for step, what in ((filters.missed, "missed"), (filters.doubt, "perhaps said, and nobody has decided yet"))
            if step
        ],
        number=number,
        before=_turned(filters, number - 1) if number > 1 else "",
        after=_turned(filters, number + 1) if number < pages else "",
        pages=pages,
        table=address("sessions.csv", **filters.items()),
        faults=room.taken.faults[:20],
        more_faults=max(0, len(room.taken.faults) - 20),
    )


def sessions_csv(room: Room, request: Request) -> Response:
    """The same list as a table, whole."""
    filters = Filters.of(request.query_params)
    with room.base() as base:
        found = lines(base, filters)
    return download(to_csv(_COLUMNS, [_row(line) for line in found]), "sessions.csv", "text/csv")


def _row(line: Line) -> list[object]:
    return [getattr(line, name) for name in _COLUMNS]


def _turned(filters: Filters, number: int) -> str:
    return address("", **filters.items(), page=str(number))
