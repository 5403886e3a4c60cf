"""A summary for the paper file: one HTML file without scripts or anything fetched, made to print on A4."""

from pathlib import Path

from markupsafe import Markup

from companion.exports.medicine import Administration, administration
from companion.exports.source import CAUTION, Source
from companion.session.events import Missed, Resumed

_TROUBLES = 12
"""More than these are only counted, so that they stay on one page."""

_HERE = Path(__file__).parent


def to_summary(source: Source) -> bytes:
    """The page, UTF-8."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # here, since few sessions are told on paper

    told, given = source.told, administration(source)
    settings = source.opened.body.get("settings") or {}
    pages = Environment(
        loader=FileSystemLoader(_HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    shown = pages.get_template("summary.html").render(
        source=source,
        caution=CAUTION,
        style=Markup((_HERE / "summary.css").read_text(encoding="utf-8")),  # comes with the program
        facts={
            "Checker": told.state.checker,
            "Medicine": _medicine(given) if given else "",
            "Local settings": ", ".join(f"{name} {value}" for name, value in settings.items()),
        },
        engines=list(dict.fromkeys(step.engine for step in told.confirmed if step.engine)),
        lists={
            "Perhaps said": _doubts(source),
            "Left out": _left_out(source),
            "Not taken, and faults": _troubles(source),
            "Cautions of the procedure": told.procedure.cautions,
        },
    )
    return (shown.lstrip() + "\n").encode("utf-8")


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
        f"{moment.at_ms // 60_000:02d}:{moment.at_ms // 1000 % 60:02d} {moment.step or 'naming'}: {moment.heard}"
        for moment in source.told.moments
        if isinstance(moment.event, Missed | Resumed) or (moment.event is None and moment.decided == "noted")
    ]
    if len(found) <= _TROUBLES:
        return found
    return [*found[:_TROUBLES], f"and {len(found) - _TROUBLES} more, in the record"]
