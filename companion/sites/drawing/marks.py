"""Small pieces of SVG. Everything is drawn in the page's own text colour, so that it fits light and dark; what a
mark means is told by its shape and size, never by colour alone."""

from dataclasses import dataclass
from datetime import date
from typing import Literal
from xml.sax.saxutils import escape

from companion.speech.language import tell

HATCH = "site-map-hatch"
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Xy:
    """A point on the drawing, in its own units."""

    x: float
    y: float


def num(value: float) -> str:
    """At most one decimal place, and no trailing zero."""
    return f"{value:.1f}".removesuffix(".0")


def text(at: Xy, words: str, size: float, anchor: Anchor = "middle", bold: bool = False) -> str:
    """A line of text."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{num(at.x)}" y="{num(at.y)}" font-size="{num(size)}" text-anchor="{anchor}"{weight} '
        f'fill="currentColor">{escape(words)}</text>'
    )


def line(start: Xy, end: Xy, width: float = 1, dashed: bool = False) -> str:
    """A straight line."""
    dash = ' stroke-dasharray="4 4"' if dashed else ""
    return (
        f'<line x1="{num(start.x)}" y1="{num(start.y)}" x2="{num(end.x)}" y2="{num(end.y)}" stroke="currentColor" '
        f'stroke-width="{num(width)}"{dash}/>'
    )


def polygon(corners: list[Xy], avoided: str, width: float = 1) -> str:
    """A closed shape; hatched, with the reason as its title, where it is to be avoided."""
    points = " ".join(f"{num(corner.x)},{num(corner.y)}" for corner in corners)
    fill = f"url(#{HATCH})" if avoided else "none"
    start = f'<polygon points="{points}" fill="{fill}" stroke="currentColor" stroke-width="{num(width)}"'
    return f"{start}><title>{escape(avoided)}</title></polygon>" if avoided else f"{start}/>"


def ring(at: Xy, radius: float, width: float = 1, dashed: bool = False, title: str = "") -> str:
    """An empty circle: a free spot, the navel."""
    dash = ' stroke-dasharray="4 4"' if dashed else ""
    return _circle(at, radius, f'fill="none" stroke="currentColor" stroke-width="{num(width)}"{dash}', title)


def used(at: Xy, radius: float, age_days: int, title: str) -> str:
    """A spot that was used: smaller and paler the longer ago."""
    size, opacity = faded(age_days)
    return _circle(at, radius * size, f'fill="currentColor" fill-opacity="{opacity}"', title)


def faded(age_days: int) -> tuple[float, str]:
    """Size and opacity of a used spot: this week, these four weeks, longer ago."""
    if age_days < 7:
        return 1, "1"
    return (0.8, "0.6") if age_days < 28 else (0.6, "0.35")


def avoided_spot(at: Xy, radius: float, title: str) -> str:
    """A hatched disc with a cross in it."""
    disc = _circle(at, radius, f'fill="url(#{HATCH})" stroke="currentColor" stroke-width="1"', title)
    arm = radius * 0.7
    return disc + "".join(
        line(Xy(at.x - arm, at.y - arm * way), Xy(at.x + arm, at.y + arm * way), 1.5) for way in (1, -1)
    )


def target(at: Xy, radius: float, title: str) -> str:
    """The proposed spot: a thick ring with four ticks, and a point in its middle."""
    parts = [ring(at, radius, radius * 0.25, title=title), _circle(at, radius * 0.28, 'fill="currentColor"', "")]
    inner, outer = radius * 1.05, radius * 1.7
    for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        start, end = Xy(at.x + x * inner, at.y + y * inner), Xy(at.x + x * outer, at.y + y * outer)
        parts.append(line(start, end, radius * 0.25))
    return "".join(parts)


def ago(day: date, today: date) -> str:
    """`used 3 days ago`."""
    days = (today - day).days
    return tell("en", {0: "used today", 1: "used a day ago"}.get(days, "used days ago"), days=days)


def hatch() -> str:
    """The pattern that avoided places are filled with."""
    return (
        f'<defs><pattern id="{HATCH}" width="6" height="6" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="6" stroke="currentColor" '
        'stroke-width="2"/></pattern></defs>'
    )


def _circle(at: Xy, radius: float, how: str, title: str) -> str:
    start = f'<circle cx="{num(at.x)}" cy="{num(at.y)}" r="{num(radius)}" {how}'
    return f"{start}><title>{escape(title)}</title></circle>" if title else f"{start}/>"
