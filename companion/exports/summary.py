"""A summary for the paper file: one HTML file without scripts or anything fetched, made to print on A4."""

from collections.abc import Iterable, Sequence
from html import escape
from pathlib import Path

from companion.exports.medicine import Administration, administration
from companion.exports.source import CAUTION, Source
from companion.review.told import Confirmed
from companion.session.events import Missed, Resumed

_DENSE = 30
"""More steps than this are set in small type, so that they stay on one page."""

_TROUBLES = 12
"""More than these are only counted, for the same reason."""

_PRECEDENCE = "Where this paper differs from the record, the record counts; where both differ from policy, policy."

_STYLE = Path(__file__).with_name("summary.css")


def to_summary(source: Source) -> bytes:
    """The page, UTF-8."""
    told = source.told
    title = f"{told.procedure.title}: {'rehearsal' if source.rehearsal else 'session'} of {_when(source.opened.utc)}"
    dense = ' class="dense"' if len(told.confirmed) > _DENSE else ""
    body = [
        f"<h1>{escape(told.procedure.title)}</h1>",
        *_state(source),
        _facts(source),
        f'<p class="cautions">{escape(CAUTION)} {escape(_PRECEDENCE)}</p>',
        _steps(source),
        *_list("Perhaps said", _doubts(source)),
        *_list("Left out", _left_out(source)),
        *_list("Not taken, and faults", _troubles(source)),
        *_list("Cautions of the procedure", told.procedure.cautions),
        '<p class="sign"><span>Performer</span><span>Seen by</span><span>Date</span></p>',
    ]
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(told.procedure.language)}">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        f"<title>{escape(title)}</title>\n<style>\n{_STYLE.read_text(encoding='utf-8')}</style>\n</head>\n"
        f"<body{dense}>\n" + "\n".join(body) + "\n</body>\n</html>\n"
    ).encode("utf-8")


def _state(source: Source) -> Iterable[str]:
    if source.notices:
        yield f'<p class="state">{escape(" ".join(source.notices))}</p>'


def _facts(source: Source) -> str:
    told, state = source.told, source.told.state
    given = administration(source)
    settings = source.opened.body.get("settings") or {}
    engines = dict.fromkeys(step.engine for step in told.confirmed if step.engine)
    facts = [
        ("Begun", _when(source.opened.utc)),
        ("Outcome", source.outcome),
        ("Time in all", _clock(told.took_ms)),
        ("Steps said" if told.rehearsed else "Steps confirmed", str(len(told.confirmed))),
        ("Performer", source.performer or "no tag given"),
        *([("Checker", state.checker)] if state.checker else []),
        *([("Medicine", _medicine(given))] if given else []),
        *([("Local settings", ", ".join(f"{key} {value}" for key, value in settings.items()))] if settings else []),
        ("Procedure", f"{told.procedure.id}, version {told.procedure.version}"),
        ("Program", source.program),
        *([("Heard by", ", ".join(engines))] if engines else []),
        ("Session", str(source.session)),
    ]
    shown = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in facts)
    receipt = source.finding.receipt
    code = f'Receipt <span class="receipt">{escape(receipt)}</span>. ' if receipt else "No receipt yet. "
    return f'<dl class="facts">{shown}</dl>\n<p>{code}Record: {escape(source.verification)}.</p>'


def _medicine(given: Administration) -> str:
    if given.given == "given" and given.dose is not None:
        where = f", {given.site.text}" if given.site else ""
        return f"{given.name}: {given.dose.written()}, {given.medicine.route}{where}"
    words = {
        "given": "given, dose not in the record",
        "not given": "not given",
        "not known": "whether and how much was given is not known",
        "under way": "not confirmed yet",
    }
    return f"{given.name}: {words[given.given]}" + (f" ({given.why})" if given.why else "")


def _steps(source: Source) -> str:
    names = ("At", "Step", "Said", "How", "Took", "Tries", "Note")
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    rows = "\n".join(_step(step) for step in source.told.confirmed)
    table = f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>"
    return f"<h2>{'Steps that were said' if source.told.rehearsed else 'Steps that stand confirmed'}</h2>\n{table}"


def _step(step: Confirmed) -> str:
    said = ", ".join(dict.fromkeys(step.phrases)) + (f" = {step.value}" if step.value else "")
    how = step.by.replace("key", "typed")
    cells = [
        (' class="number"', _clock(step.at_ms)),
        ("", step.title),
        ("", said),
        ("", how),
        (' class="number"', _seconds(step.took_ms)),
        (' class="number"', str(step.tries + 1)),
        ("", step.note),
    ]
    return "<tr>" + "".join(f"<td{kind}>{escape(text)}</td>" for kind, text in cells) + "</tr>"


def _doubts(source: Source) -> list[str]:
    """What a rehearsal perhaps said, with the words and what was decided."""
    judgement = source.told.judgement
    return [
        f"{finding.title}: “{finding.heard[0].text}” ({doubt.in_words})"
        for finding in (judgement.doubtful if judgement else ())
        if (doubt := source.verdict.doubt(finding.step)) is not None
    ]


def _left_out(source: Source) -> list[str]:
    judgement = source.told.judgement
    left_out = [each.title for each in (judgement.findings if judgement else ()) if each.kind == "omitted"]
    return [", ".join(left_out)] if left_out else []


def _troubles(source: Source) -> list[str]:
    """Utterances that were not taken and what went wrong, each with its time and step; no more than fit the page."""
    found = [
        f"{_clock(moment.at_ms)} {moment.step or 'naming'}: {moment.heard}"
        for moment in source.told.moments
        if isinstance(moment.event, Missed | Resumed) or (moment.event is None and moment.decided == "noted")
    ]
    if len(found) <= _TROUBLES:
        return found
    return [*found[:_TROUBLES], f"and {len(found) - _TROUBLES} more, in the record"]


def _list(title: str, items: Sequence[str]) -> Iterable[str]:
    if items:
        shown = "".join(f"<li>{escape(item)}</li>" for item in items)
        yield f'<h2>{escape(title)}</h2>\n<ul class="small">{shown}</ul>'


def _when(utc: str) -> str:
    return f"{utc[:10]} {utc[11:19]} UTC"


def _clock(ms: int) -> str:
    minutes, seconds = divmod(ms // 1000, 60)
    return f"{minutes:02d}:{seconds:02d}"


def _seconds(ms: int) -> str:
    return f"{ms // 1000}.{ms % 1000 // 100} s"
