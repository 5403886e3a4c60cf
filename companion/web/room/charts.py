"""Plots as SVG: small, in the page's own colours, each beside its table.

Drawn here rather than by a plotting library: its SVG carries inline styles, which the pages' policy forbids, and fixed
colours, which are wrong in the dark. What a plot shows stands in the table too, so nothing rests on colour.
"""

from collections.abc import Sequence

from markupsafe import Markup, escape

_WIDTH = 900
_LEFT = 270
_ROW = 26
_TOP = 34
_LETTER = 14
_LABEL = 34
"""Characters of a label; the table has it whole."""

SERIES = ("one", "two", "three", "four")
"""Classes that the style sheet gives a colour each."""


def bars(title: str, names: Sequence[str], rows: Sequence[tuple[str, Sequence[float]]], unit: str = "") -> Markup:
    """Stacked bars, a row for each label; `names` are those of the parts of a bar, and begin with letters that differ:
    a part wide enough bears its letter, for whoever cannot tell the colours."""
    most = max([sum(values) for _, values in rows] or [0]) or 1
    scale = (_WIDTH - _LEFT - 80) / most
    parts = [_legend(names)]
    for number, (label, values) in enumerate(rows):
        y = _TOP + number * _ROW
        parts.append(_label(label, y))
        x = float(_LEFT)
        for kind, name, value in zip(SERIES, names, values, strict=False):
            if value:
                parts.append(_rect(f"bar {kind}", x, y + 4, value * scale, _ROW - 8))
                if len(names) > 1 and value * scale >= _LETTER:
                    parts.append(_text(x + value * scale / 2, y + 18, name[0], "letter middle"))
                x += value * scale
        total = sum(values)
        parts.append(_text(x + 6, y + 18, f"{total:g}{unit}" if total else "0", "figure"))
    return _svg(title, _TOP + len(rows) * _ROW + 8, parts)


def boxes(title: str, rows: Sequence[tuple[str, tuple[float, float, float, float] | None]]) -> Markup:
    """A box from a quarter to three quarters with the median in it, and a line to nine tenths; seconds."""
    most = max([values[3] for _, values in rows if values is not None] or [0]) or 1
    scale = (_WIDTH - _LEFT - 80) / most
    parts = [_text(_LEFT, 20, "box: middle half; bar: median; line: up to nine tenths; seconds", "note")]
    for number, (label, values) in enumerate(rows):
        y = _TOP + number * _ROW
        parts.append(_label(label, y))
        if values is None:
            parts.append(_text(_LEFT + 6, y + 18, "never done", "figure"))
            continue
        low, median, high, far = (_LEFT + value * scale for value in values)
        parts.append(_line("whisker", high, y + _ROW / 2, far, y + _ROW / 2))
        parts.append(_rect("bar one", low, y + 5, max(high - low, 1), _ROW - 10))
        parts.append(_line("median", median, y + 3, median, y + _ROW - 3))
        parts.append(_text(far + 6, y + 18, f"{values[1]:.1f}", "figure"))
    return _svg(title, _TOP + len(rows) * _ROW + 8, parts)


def scatter(
    title: str, points: Sequence[tuple[int, float]], names: Sequence[str], line: tuple[float, float], at: float
) -> Markup:
    """Scores (0 to 100) over ratings (from 1), the line through them (intercept, slope), and the cut where it stands
    `at` a rating. Points that fall together are drawn larger."""
    left, top, width, height = 80, 20, _WIDTH - 180, 320

    def x(rating: float) -> float:
        return left + (rating - 0.5) / len(names) * width

    def y(score: float) -> float:
        return top + (100 - min(max(score, 0), 100)) / 100 * height

    foot = top + height
    parts = [_line("axis", left, top, left, foot), _line("axis", left, foot, left + width, foot)]
    parts += [_text(left - 10, y(tick) + 5, f"{tick}", "figure end") for tick in range(0, 101, 20)]
    parts += [_text(x(n), foot + 24, f"{n} {name}", "figure middle") for n, name in enumerate(names, 1)]
    intercept, slope = line
    ends = [(x(rating), y(intercept + slope * rating)) for rating in (0.6, len(names) + 0.4)]
    parts.append(_line("fit", *ends[0], *ends[1]))
    cut = intercept + slope * at
    parts.append(_line("cut", left, y(cut), x(at), y(cut)))
    parts.append(_line("cut", x(at), y(cut), x(at), foot))
    for place in sorted(set(points)):
        size = 4 + 2 * min(points.count(place) - 1, 5)
        point = Markup('<circle class="point" cx="{}" cy="{}" r="{}"/>')
        parts.append(point.format(f"{x(place[0]):.1f}", f"{y(place[1]):.1f}", size))
    parts.append(_text(left + 8, y(cut) - 8, f"cut {cut:.1f} %", "figure"))
    return _svg(title, foot + 40, parts)


def strip(title: str, took_ms: int, spans: Sequence[tuple[int, int, str]], misses: Sequence[int]) -> Markup:
    """One session to scale: a span (from, to, name) for each step, a notch for each reply that was not clear."""
    scale = _WIDTH / (took_ms or 1)
    parts = []
    for number, (begun, ended, name) in enumerate(spans):
        span = _rect(
            f"span {'even' if number % 2 else 'odd'}", begun * scale, 14, max((ended - begun) * scale, 1), 34, name
        )
        parts.append(span)
    for at in misses:
        x = at * scale
        parts.append(Markup('<path class="notch" d="M{} 12l-5 -10h10z"/>').format(f"{x:.1f}"))
    parts.append(Markup('<line class="playhead" x1="0" y1="0" x2="0" y2="54"/>'))
    return _svg(title, 56, parts)


def _svg(title: str, height: float, parts: Sequence[Markup]) -> Markup:
    start = Markup('<svg class="plot" viewBox="0 0 {} {}" role="img" aria-label="{}">').format(
        _WIDTH, f"{height:g}", title
    )
    return start + Markup("").join(parts) + Markup("</svg>")


def _legend(names: Sequence[str]) -> Markup:
    parts, x = [], _LEFT
    for kind, name in zip(SERIES, names, strict=False):
        parts.append(_rect(f"bar {kind}", x, 8, 16, 16))
        if len(names) > 1:
            parts.append(_text(x + 8, 21, name[0], "letter middle"))
        parts.append(_text(x + 22, 21, name, "note"))
        x += 40 + 9 * len(name)
    return Markup("").join(parts)


def _label(text: str, y: float) -> Markup:
    cut = text if len(text) <= _LABEL else text[: _LABEL - 1] + "…"
    return _text(_LEFT - 10, y + 18, cut, "label end")


def _text(x: float, y: float, text: str, kind: str) -> Markup:
    return Markup('<text class="{}" x="{}" y="{}">{}</text>').format(kind, f"{x:.1f}", f"{y:.1f}", text)


def _rect(kind: str, x: float, y: float, width: float, height: float, title: str = "") -> Markup:
    inside = Markup("<title>{}</title>").format(escape(title)) if title else Markup("")
    return Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}">{}</rect>').format(
        kind, f"{x:.1f}", f"{y:.1f}", f"{width:.1f}", f"{height:.1f}", inside
    )


def _line(kind: str, x1: float, y1: float, x2: float, y2: float) -> Markup:
    return Markup('<line class="{}" x1="{}" y1="{}" x2="{}" y2="{}"/>').format(
        kind, f"{x1:.1f}", f"{y1:.1f}", f"{x2:.1f}", f"{y2:.1f}"
    )
