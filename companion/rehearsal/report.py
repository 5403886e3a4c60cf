"""The report of a rehearsal: one HTML file without scripts or anything fetched, made to print on A4."""

from collections.abc import Iterable
from html import escape
from pathlib import Path

from companion.procedure.model import Procedure
from companion.rehearsal.drawing import timeline_svg
from companion.rehearsal.judging.debrief import how_it_went, in_doubt, went_well
from companion.session.findings import Finding, Heard, Judgement, Mark
from companion.speech.durations import said
from companion.speech.language import tell

_CRITICAL = ' class="critical"'
_STYLE = Path(__file__).with_name("report.css")
_SECTIONS = (
    ("part left out", ("omitted",)),
    ("part not heard", ("unclear",)),
    ("part order", ("out of order",)),
    ("part values", ("wrong value", "too short", "not independent")),
    ("part pauses", ("hint", "hesitation")),
)
_COLUMNS = ("column step", "column place", "column time", "column words", "column found")


def to_report(procedure: Procedure, judgement: Judgement, begun: str) -> bytes:
    """The page, UTF-8. `begun` is when it was, as shown."""
    language = procedure.language
    title = tell(language, "report", title=procedure.title)
    body = [
        f"<h1>{escape(title)}</h1>",
        f'<p class="small">{escape(_facts(judgement, begun, language))}</p>',
        f'<p class="outcome"><b>{escape(tell(language, f"outcome {judgement.outcome}"))}</b> '
        f"{escape(' '.join(how_it_went(judgement, language)))}</p>",
        *_well(judgement, language),
        *_first(judgement, language),
        *_doubt(judgement, language),
        _heading(language, "which order"),
        timeline_svg(procedure, judgement),
        _table(procedure, judgement),
        *(line for name, kinds in _SECTIONS for line in _section(name, kinds, judgement, language)),
        f'<p class="small">{escape(tell(language, "policy decides"))}</p>',
    ]
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(language)}">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        f"<title>{escape(title)}</title>\n<style>\n{_STYLE.read_text(encoding='utf-8')}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    ).encode()


def _heading(language: str, key: str) -> str:
    return f"<h2>{escape(tell(language, key))}</h2>"


def _facts(judgement: Judgement, begun: str, language: str) -> str:
    rule = tell(language, "fails it" if judgement.must_pass else "fails nothing")
    took = tell(language, "in all", time=said(judgement.took_ms // 1000, language))
    facts = [begun, tell(language, f"level {judgement.help}"), took, rule]
    facts += [tell(language, "student", tag=judgement.performer)] if judgement.performer else []
    facts += [tell(language, "only some", count=len(judgement.expected))] if judgement.only else []
    return "; ".join(facts) + "."


def _well(judgement: Judgement, language: str) -> Iterable[str]:
    titles = [mark.title for mark in went_well(judgement)]
    if titles:
        items = "".join(f"<li>{escape(title)}</li>" for title in titles)
        said_in_order = escape(tell(language, "critical steps said"))
        yield f'{_heading(language, "what went well")}\n<p>{said_in_order}</p>\n<ol class="well">{items}</ol>'


def _doubt(judgement: Judgement, language: str) -> Iterable[str]:
    for sentence in in_doubt(judgement, language):
        titles = "; ".join(dict.fromkeys(finding.title for finding in judgement.doubtful))
        yield f"{_heading(language, 'doubt')}\n<p>{escape(sentence)} {escape(titles)}.</p>"


def _first(judgement: Judgement, language: str) -> Iterable[str]:
    if judgement.practise:
        items = "".join(f"<li>{escape(sentence)}</li>" for sentence in judgement.practise)
        yield f'{_heading(language, "first and why")}\n<ol class="first">{items}</ol>'


def clock(ms: int) -> str:
    """`75000` -> `1:15`."""
    minutes, seconds = divmod(ms // 1000, 60)
    return f"{minutes}:{seconds:02d}"


def _table(procedure: Procedure, judgement: Judgement) -> str:
    """The same as the drawing, for whoever cannot see it: the order of the file, with when each step was said."""
    places = {mark.step: number for number, mark in enumerate(judgement.marks, start=1)}
    marks = {mark.step: mark for mark in judgement.marks}
    perhaps = {finding.step: finding for finding in judgement.doubtful}
    language, rows = procedure.language, []
    for number, name in enumerate(judgement.expected, start=1):
        step, mark = procedure.step(name), marks.get(name)
        kinds = dict.fromkeys(finding.kind for finding in judgement.of(name)) or (["nothing"] if mark else [])
        found = "; ".join(tell(language, f"found {kind}") for kind in kinds)
        cells = (
            f'<td class="number">{number}</td><td>{escape(step.title)}{" *" if step.critical else ""}</td>'
            f'<td class="number">{places.get(name, "")}</td>'
            f'<td class="number">{clock(mark.at_ms) if mark else ""}</td>'
            f"<td>{_words(mark, perhaps.get(name), language)}</td><td>{escape(found)}</td>"
        )
        at_fault = any(finding.critical for finding in judgement.of(name))
        rows.append(f"<tr{_CRITICAL if at_fault else ''}>{cells}</tr>")
    names = ("", *(escape(tell(language, key)) for key in _COLUMNS))
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    legend = f'<p class="small">{escape(tell(language, "red bar"))}</p>'
    return f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n" + "\n".join(rows) + f"\n</tbody>\n</table>\n{legend}"


def _words(mark: Mark | None, perhaps: Finding | None, language: str) -> str:
    if mark is not None:
        return _quote(mark.heard)
    if perhaps is None:
        return escape(tell(language, "unsaid"))
    if not perhaps.heard:
        return escape(tell(language, "perhaps"))
    return tell(language, "perhaps words", words=_quote(perhaps.heard[0]))


def _quote(heard: Heard) -> str:
    return f"<q>{escape(heard.text)}</q>"


def _section(name: str, kinds: tuple[str, ...], judgement: Judgement, language: str) -> Iterable[str]:
    found = [finding for finding in judgement.findings if finding.kind in kinds]
    if found:
        rows = "\n".join(_row(finding, language) for finding in found)
        yield f"{_heading(language, name)}\n<table>\n<tbody>\n{rows}\n</tbody>\n</table>"


def _row(finding: Finding, language: str) -> str:
    heard = "<br>".join(f"{clock(heard.at_ms)} {_quote(heard)}" for heard in finding.heard)
    words = heard or escape(tell(language, "no words"))
    why = f'<br><span class="small">{escape(finding.effect)}</span>' if finding.effect else ""
    return f"<tr{_CRITICAL if finding.critical else ''}><td>{escape(finding.reason)}{why}</td><td>{words}</td></tr>"
