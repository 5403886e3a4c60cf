"""The educator's own marks of one session."""

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from companion.errors import RecordError, UsageError
from companion.review.checklist import checklist
from companion.review.marks import MARKS, RATINGS, Marks, marks_from
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
        lines=checklist(source.told),
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
    seen = _seen(body)
    file = request.path_params["file"]
    source, marks = room.source(file), marks_from(body)
    before = source.marks_of(marks.marker)
    saved = room.mark(source, marks.deciding(before.decisions if before else {}), seen)
    return JSONResponse({"to": address("session", file) + "#marks", "revision": saved.revision})


def decide(room: Room, request: Request, body: dict[str, Any]) -> Response:
    """Save what a marker decides of the steps in doubt; the marks and remarks of the same marker stay."""
    seen, decided = _seen(body), body.get("decisions")
    if set(body) != {"marker", "decisions"} or not isinstance(decided, dict):
        raise UsageError("a decision holds the marker's tag and, for each step, said or not said")
    file = request.path_params["file"]
    source = room.source(file)
    strange = next((step for step in decided if source.verdict.doubt(step) is None), None)
    if strange is not None:
        raise UsageError(f"`{strange[:40]}` is no step in doubt here")
    asked = marks_from(
        {"marker": body["marker"], "items": [{"step": step, "decision": each} for step, each in decided.items()]}
    )
    before = source.marks_of(asked.marker) or Marks(marker=asked.marker)
    saved = room.mark(source, before.deciding(asked.decisions), seen)
    return JSONResponse({"to": address("session", file) + "#doubts", "revision": saved.revision})


def _seen(body: dict[str, Any]) -> int:
    """The revision that a form was filled in from, taken out of it."""
    seen = body.pop("seen", None)
    if not isinstance(seen, int) or isinstance(seen, bool):
        raise UsageError("which marks the form was filled in from is missing")
    return seen
