"""The report of a rehearsal: one HTML file without scripts or anything fetched, made to print on A4."""

from collections.abc import Iterable
from html import escape
from pathlib import Path

from companion.procedure.model import Procedure
from companion.rehearsal.drawing import timeline_svg
from companion.rehearsal.judging.debrief import how_it_went, in_doubt, went_well
from companion.session.findings import Finding, Heard, Judgement, Mark
from companion.speech.durations import said

_CRITICAL = ' class="critical"'
_STYLE = Path(__file__).with_name("report.css")
_LEVEL = {"full": "every step prompted", "headings": "headings only", "none": "from memory"}
_SECTIONS = (
    ("Left out", ("omitted",)),
    ("Not surely heard", ("unclear",)),
    ("Out of order", ("out of order",)),
    ("Values, times and checks", ("wrong value", "too short", "not independent")),
    ("Hints and pauses", ("hint", "hesitation")),
)


def to_report(procedure: Procedure, judgement: Judgement, begun: str) -> bytes:
    """The page, UTF-8. `begun` is when it was, as shown."""
    title = f"Rehearsal: {procedure.title}"
    body = [
        f"<h1>{escape(title)}</h1>",
        f'<p class="small">{escape(_facts(judgement, begun))}</p>',
        f'<p class="outcome"><b>{escape(judgement.outcome.capitalize())}.</b> '
        f"{escape(' '.join(how_it_went(judgement)))}</p>",
        *_well(judgement),
        *_first(judgement),
        *_doubt(judgement),
        "<h2>In which order it was said</h2>",
        timeline_svg(procedure, judgement),
        _table(procedure, judgement),
        *(line for name, kinds in _SECTIONS for line in _section(name, kinds, judgement)),
        '<p class="small">A training aid: local policy and your educator decide. Every finding names the words it '
        "rests on. If you were misheard, or said it in words the program does not know, tell your educator.</p>",
    ]
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(procedure.language)}">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        f"<title>{escape(title)}</title>\n<style>\n{_STYLE.read_text(encoding='utf-8')}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    ).encode()


def _facts(judgement: Judgement, begun: str) -> str:
    rule = "a critical finding fails it" if judgement.must_pass else "critical findings are told, and fail nothing"
    facts = [begun, _LEVEL[judgement.help], f"{said(judgement.took_ms // 1000)} in all", rule]
    facts += [f"student {judgement.performer}"] if judgement.performer else []
    facts += [f"{len(judgement.expected)} of the steps"] if judgement.only else []
    return "; ".join(facts) + "."


def _well(judgement: Judgement) -> Iterable[str]:
    titles = [mark.title for mark in went_well(judgement)]
    if titles:
        items = "".join(f"<li>{escape(title)}</li>" for title in titles)
        yield f'<h2>What went well</h2>\n<p>Critical steps, in the order said:</p>\n<ol class="well">{items}</ol>'


def _doubt(judgement: Judgement) -> Iterable[str]:
    for sentence in in_doubt(judgement):
        titles = "; ".join(dict.fromkeys(finding.title for finding in judgement.doubtful))
        yield f"<h2>In doubt</h2>\n<p>{escape(sentence)} {escape(titles)}.</p>"


def _first(judgement: Judgement) -> Iterable[str]:
    if judgement.practise:
        items = "".join(f"<li>{escape(sentence)}</li>" for sentence in judgement.practise)
        yield f'<h2>To practise first, and why</h2>\n<ol class="first">{items}</ol>'


def clock(ms: int) -> str:
    """`75000` -> `1:15`."""
    minutes, seconds = divmod(ms // 1000, 60)
    return f"{minutes}:{seconds:02d}"


def _table(procedure: Procedure, judgement: Judgement) -> str:
    """The same as the drawing, for whoever cannot see it: the order of the file, with when each step was said."""
    places = {mark.step: number for number, mark in enumerate(judgement.marks, start=1)}
    marks = {mark.step: mark for mark in judgement.marks}
    perhaps = {finding.step: finding for finding in judgement.doubtful}
    rows = []
    for number, name in enumerate(judgement.expected, start=1):
        step, mark = procedure.step(name), marks.get(name)
        found = "; ".join(dict.fromkeys(f.kind for f in judgement.of(name))) or ("as it should be" if mark else "")
        cells = (
            f'<td class="number">{number}</td><td>{escape(step.title)}{" *" if step.critical else ""}</td>'
            f'<td class="number">{places.get(name, "")}</td>'
            f'<td class="number">{clock(mark.at_ms) if mark else ""}</td>'
            f"<td>{_words(mark, perhaps.get(name))}</td><td>{escape(found)}</td>"
        )
        at_fault = any(finding.critical for finding in judgement.of(name))
        rows.append(f"<tr{_CRITICAL if at_fault else ''}>{cells}</tr>")
    names = ("", "Step", "Said as", "At", "Words", "Found")
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    legend = '<p class="small">* critical. A red bar marks a critical fault.</p>'
    return f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n" + "\n".join(rows) + f"\n</tbody>\n</table>\n{legend}"


def _words(mark: Mark | None, perhaps: Finding | None) -> str:
    if mark is not None:
        return _quote(mark.heard)
    if perhaps is None:
        return "not said"
    return f"perhaps {_quote(perhaps.heard[0])}" if perhaps.heard else "perhaps"


def _quote(heard: Heard) -> str:
    return f"<q>{escape(heard.text)}</q>"


def _section(name: str, kinds: tuple[str, ...], judgement: Judgement) -> Iterable[str]:
    found = [finding for finding in judgement.findings if finding.kind in kinds]
    if found:
        rows = "\n".join(_row(finding) for finding in found)
        yield f"<h2>{escape(name)}</h2>\n<table>\n<tbody>\n{rows}\n</tbody>\n</table>"


def _row(finding: Finding) -> str:
    words = "<br>".join(f"{clock(heard.at_ms)} {_quote(heard)}" for heard in finding.heard) or "no words"
    why = f'<br><span class="small">{escape(finding.effect)}</span>' if finding.effect else ""
    return f"<tr{_CRITICAL if finding.critical else ''}><td>{escape(finding.reason)}{why}</td><td>{words}</td></tr>"
