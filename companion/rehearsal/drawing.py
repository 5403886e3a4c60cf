"""A student's order against that of the file, as SVG: two columns of steps joined by lines."""

from html import escape

from companion.procedure.model import Procedure
from companion.session.findings import Judgement
from companion.speech.language import tell

_ROW, _TOP, _WIDTH = 22, 34, 860
_LEFT, _RIGHT = 330, 530
_LONGEST = 42


def timeline_svg(procedure: Procedure, judgement: Judgement) -> str:
    """Left the steps as the file has them, right as they were said; lines that cross changed places.

    Broken lines belong to findings "out of order"; steps without a line were not said. Told by form, not by colour
    alone; the table beneath tells the same.
    """
    language = procedure.language
    left = {name: number for number, name in enumerate(judgement.expected)}
    late = {finding.step for finding in judgement.findings if finding.kind == "out of order"}
    height = _TOP + _ROW * max(1, len(left)) + 8
    parts = [
        f'<svg viewBox="0 0 {_WIDTH} {height}" role="img" font-family="sans-serif" font-size="12">',
        f"<title>{escape(tell(language, 'two orders'))}</title>",
        _text(_LEFT - 10, 16, "end", tell(language, "order of the file"), bold=True),
        _text(_RIGHT + 10, 16, "start", tell(language, "order said"), bold=True),
    ]
    said = {mark.step for mark in judgement.marks}
    perhaps = {finding.step for finding in judgement.doubtful}
    for name, number in left.items():
        step = procedure.step(name)
        unsaid = tell(language, "perhaps step" if name in perhaps else "unsaid step", title=_cut(step.title))
        label = (_cut(step.title) if name in said else unsaid) + (" *" if step.critical else "")
        parts.append(_text(_LEFT - 10, _y(number) + 4, "end", label, bold=name not in said))
        parts.append(f'<circle cx="{_LEFT}" cy="{_y(number)}" r="3.5" fill="{"#1a5276" if name in said else "#fff"}"'
                     ' stroke="#1a5276"/>')  # fmt: skip
    for place, mark in enumerate(judgement.marks):
        broken = mark.step in late
        style = 'stroke="#a93226" stroke-width="2" stroke-dasharray="6 4"' if broken else 'stroke="#5d6d7e"'
        parts.append(f'<line x1="{_LEFT + 5}" y1="{_y(left[mark.step])}" x2="{_RIGHT - 5}" y2="{_y(place)}" {style}/>')
        minutes, seconds = divmod(mark.at_ms // 1000, 60)
        title = tell(language, "too early", title=_cut(mark.title)) if broken else _cut(mark.title)
        label = f"{minutes}:{seconds:02d} {title}"
        parts.append(_text(_RIGHT + 10, _y(place) + 4, "start", label, bold=broken))
    return "\n".join([*parts, _text(_LEFT - 10, height - 2, "end", tell(language, "star")), "</svg>"])


def _y(row: int) -> int:
    return _TOP + _ROW * row + 6


def _cut(title: str) -> str:
    return title if len(title) <= _LONGEST else title[: _LONGEST - 1] + "…"


def _text(x: int, y: int, anchor: str, text: str, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}"{weight}>{escape(text)}</text>'
