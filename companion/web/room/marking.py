"""The educator's own marks of one session."""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from companion.errors import RecordError, UsageError
from companion.review.checklist import checklist, judgement_of
from companion.review.marks import MARKS, RATINGS, marks_from
from companion.review.marks_file import marks_path, read_marks
from companion.web.room.answering import address, shown
from companion.web.room.room import Room


def marking(room: Room, request: Request) -> Response:
    """The form, blank or as this marker saved it last. Other markers' marks are not shown here: two who are to be
    compared must not have seen each other's."""
    source = room.source(request.path_params["file"])
    if not source.record.closed:
        raise RecordError(f"{source.record.path}: this session was not closed; only a closed one can be marked")
    marker = request.query_params.get("marker", "")
    if marker:
        marks_from({"marker": marker})
    public = str(source.opened.body["public_key"])
    saved = read_marks(source.record, marker, {public}) if marker else None
    file = source.record.path.name
    return shown(
        "marking.html",
        folder=room.folder.name,
        source=source,
        language=source.told.procedure.language,
        lines=checklist(source.told, judgement_of(source.record)),
        marker=marker,
        saved=saved,
        items={item.step: item for item in saved.marks.items} if saved else {},
        marks=MARKS,
        ratings=RATINGS,
        name=marks_path(source.record.path, marker or "27").name,
        to_self=address("session", file, "mark"),
        to_session=address("session", file),
    )


def save(room: Room, request: Request, body: dict[str, Any]) -> Response:
    """Save what the form holds; `seen` is the revision it was filled in from."""
    seen = body.pop("seen", None)
    if not isinstance(seen, int) or isinstance(seen, bool):
        raise UsageError("which marks the form was filled in from is missing")
    file = request.path_params["file"]
    saved = room.mark(room.source(file), marks_from(body), seen)
    return JSONResponse({"to": address("session", file) + "#marks", "revision": saved.revision})
