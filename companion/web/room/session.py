"""One session as a timeline that can be played, its steps, and what was made of it."""

import io
import wave
from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from companion.errors import UsageError
from companion.exports.source import CAUTION, REHEARSAL, Source
from companion.exports.spreadsheet import to_csv
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.record.clips import clips_of, read_clip
from companion.review.checklist import checklist
from companion.review.marks import RATINGS
from companion.review.told import Moment
from companion.review.verdict import in_words
from companion.session.events import Missed
from companion.web.room import charts
from companion.web.room.answering import address, download, ranged, shown
from companion.web.room.formatting import when
from companion.web.room.room import NotThere, Room

MOST = 2000
"""Moments that a page shows; a long session comes to a few hundred."""

SPEEDS = (1, 2, 4, 8)
_STYLE = Path(__file__).parent.parent / "assets" / "room.css"


def session(room: Room, request: Request) -> Response:
    """The page of one session."""
    source = room.source(request.path_params["file"])
    return shown("session.html", **_shown(room, source), player=True)


def session_paper(room: Room, request: Request) -> Response:
    """The same as one file that needs nothing else, to be kept or printed."""
    source = room.source(request.path_params["file"])
    made = shown("session_paper.html", **_shown(room, source), player=False, style=paper_style())
    return download(bytes(made.body), f"{source.record.path.name}.review.html", "text/html; charset=utf-8")


def session_csv(room: Room, request: Request) -> Response:
    """The timeline as a table."""
    source = room.source(request.path_params["file"])
    names = ("n", "at_ms", "step", "heard", "decided", "says")
    rows = [
        (each.n, each.at_ms, each.step, each.heard, each.decided, " / ".join(each.says)) for each in source.told.moments
    ]
    return download(to_csv(names, rows), f"{source.record.path.name}.timeline.csv", "text/csv")


def clip(room: Room, request: Request) -> Response:
    """The sound of one reply, where it was kept, and only as its entry names it. Given as WAV: chromium cannot seek in
    the last part of a FLAC file without a table of places, and gives the sound up over it."""
    record = room.record(request.path_params["file"])
    number = request.path_params["number"]
    found = next((each for each in clips_of(record.entries) if str(each.of) == number), None)
    if found is None:
        raise NotThere("no sound of that reply was kept")
    return ranged(request, _wav(read_clip(record.path, found)), "audio/wav")


def say(room: Room, request: Request, body: dict[str, Any]) -> Response:
    """Speak what the program said at one entry. The words come from the record, never from the page."""
    if room.speaker is None:
        return JSONResponse({"problem": "this review was started without a voice"}, 409)
    source = room.source(request.path_params["file"])
    n = body.get("n")
    moment = next((each for each in source.told.moments if each.n == n), None)
    if moment is None:
        raise UsageError("there is nothing of that number to say")
    problem = room.speaker.say(moment.says, source.told.procedure.language)
    return JSONResponse({"problem": problem} if problem else {})


def hush(room: Room, _: Request, __: dict[str, Any]) -> Response:
    """Fall silent."""
    if room.speaker is not None:
        room.speaker.hush()
    return JSONResponse({})


def paper_style() -> Markup:
    """The room's own style sheet, for a page that is kept: it comes with the program, so it is safe to stand inline."""
    return Markup(_STYLE.read_text(encoding="utf-8"))


def facts(source: Source) -> Mapping[str, str]:
    """What is known of a session beside its steps."""
    told = source.told
    return {
        "Begun": when(source.opened.utc),
        "Outcome": source.outcome,
        "Performer": source.told.performer or "no tag given",
        **({"Checker": told.state.checker} if told.state.checker else {}),
        "Way": f"{told.way}, {told.mode}",
        "Procedure": f"{told.procedure.id}, version {told.procedure.version}",
        "Program": source.program,
    }


def _shown(room: Room, source: Source) -> dict[str, Any]:
    told, file = source.told, source.record.path.name
    lines = checklist(told)
    moments = source.told.moments
    doubtful = told.judgement.doubtful if told.judgement else ()
    markings = {each.marks.marker: {item.step: item for item in each.marks.items} for each in source.marks}
    return {
        "folder": room.folder.name,
        "source": source,
        "told": told,
        "language": told.procedure.language,
        "facts": facts(source),
        "caution": CAUTION,
        "rehearsal": REHEARSAL if source.rehearsal else "",
        "lines": lines,
        "titles": {step.id: step.title for step in told.procedure.all_steps()},
        "judgement": told.judgement,
        "outcome": in_words(source.verdict.outcome),
        "doubts": [(finding, doubt) for finding in doubtful if (doubt := source.verdict.doubt(finding.step))],
        "seen": {each.marks.marker: each.revision for each in source.marks},
        "took_ms": told.took_ms,
        "unfinished": source.unfinished,
        "clips": {clip.of: address("session", file, "clip", str(clip.of)) for clip in clips_of(source.record.entries)},
        "moments": moments[:MOST],
        "hidden": max(0, len(moments) - MOST),
        "took": [0, *(after.at_ms - before.at_ms for before, after in pairwise(moments))],
        "unclear": {each.n for each in moments if _unclear(each)},
        "markings": markings,
        "ratings": RATINGS,
        "speeds": SPEEDS,
        "aloud": room.speaker is not None,
        "strip": _strip(source, moments),
        "to_mark": address("session", file, "mark"),
        "to_decide": address("session", file, "decide"),
        "to_say": address("session", file, "say"),
        "to_csv": address("session", file, "timeline.csv"),
        "to_paper": address("session", file, "paper.html"),
    }


def _wav(samples: Samples) -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE)
        file.writeframes(samples.astype("<i2").tobytes())
    return out.getvalue()


def _unclear(moment: Moment) -> bool:
    return isinstance(moment.event, Missed) and moment.event.why == "unclear"


def _strip(source: Source, moments: Sequence[Moment]) -> Markup:
    spans = [(done.at_ms - done.took_ms, done.at_ms, done.title) for done in source.told.confirmed]
    misses = [each.at_ms for each in moments if _unclear(each)]
    words = f"The session to scale: {len(spans)} steps, {len(misses)} replies that were not clear"
    return charts.strip(words, max(source.told.took_ms, *(each.at_ms for each in moments), 1), spans, misses)
