"""How the room's pages answer: a handler is given the room and the request, and its errors become sentences."""

import json
import re
from collections.abc import Callable
from typing import Any
from urllib.parse import quote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from companion.errors import CompanionError, RecordError, UsageError
from companion.review.verdict import in_words
from companion.web.inside import inside
from companion.web.pages import page
from companion.web.room import formatting
from companion.web.room.room import NotThere, Room

Handler = Callable[[Room, Request], Response]
Change = Callable[[Room, Request, dict[str, Any]], Response]


_RANGE = re.compile(r"bytes=([0-9]{0,12})-([0-9]{0,12})\Z", re.ASCII)
_WORDS = {name: getattr(formatting, name) for name in ("clock", "seconds", "when", "short", "share", "figure")}
_WORDS["outcome_words"] = in_words


def shown(template: str, status: int = 200, **values: Any) -> Response:
    """A page of the room, with the words that its templates use."""
    return page(f"room/{template}", status, **_WORDS, **values)


def reading(room: Room, path: str, handler: Handler) -> Route:
    """A page to be read."""

    async def answer(request: Request) -> Response:
        try:
            return await run_in_threadpool(handler, room, request)
        except CompanionError as fault:
            return shown("problem.html", _status(fault), problem=str(fault), folder=room.folder.name)

    return Route(path, answer, methods=["GET"])


def changing(room: Room, path: str, handler: Change) -> Route:
    """Something to be done: the body is a JSON object, and so is the answer to one that cannot be."""

    async def answer(request: Request) -> Response:
        try:
            return await run_in_threadpool(handler, room, request, _object(await request.body()))
        except CompanionError as fault:
            return JSONResponse({"problem": str(fault)}, _status(fault))

    return Route(path, answer, methods=["POST"])


def download(data: bytes, name: str, kind: str) -> Response:
    """A file to be kept. `name` is plain ASCII apart from what stands in a record's name."""
    safe = "".join(char if char.isascii() and (char.isalnum() or char in "-_.") else "_" for char in name)
    return Response(data, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{safe}"'})


def ranged(request: Request, data: bytes, kind: str) -> Response:
    """`data`, or the part of it that is asked for (RFC 9110, 14): a browser seeks in sound by asking for parts. A range
    that is not one run of bytes is passed over, as the standard allows."""
    headers = {"Accept-Ranges": "bytes"}
    asked = _RANGE.match(request.headers.get("range", ""))
    if asked is None or asked.group(1, 2) == ("", ""):
        return Response(data, media_type=kind, headers=headers)
    first, last = asked.group(1, 2)
    begin = int(first) if first else max(0, len(data) - int(last))
    end = min(int(last), len(data) - 1) if first and last else len(data) - 1
    if begin > end:
        return Response(status_code=416, headers={**headers, "Content-Range": f"bytes */{len(data)}"})
    headers["Content-Range"] = f"bytes {begin}-{end}/{len(data)}"
    return Response(data[begin : end + 1], 206, media_type=kind, headers=headers)


def address(*parts: str, **query: str) -> str:
    """A path of this server, each part quoted whole."""
    path = inside("/" + "/".join(quote(part, safe="") for part in parts))
    return path + (f"?{urlencode(query)}" if query else "")


def _object(body: bytes) -> dict[str, Any]:
    try:
        value = json.loads(body or b"{}")
    except (ValueError, RecursionError) as fault:
        raise UsageError("what was sent is not JSON") from fault
    if not isinstance(value, dict):
        raise UsageError("what was sent is no JSON object")
    return value


def _status(fault: CompanionError) -> int:
    if isinstance(fault, NotThere):
        return 404
    return 409 if isinstance(fault, RecordError) else 400
