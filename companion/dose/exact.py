"""Exact numbers: fractions inside, decimals at the edges, and never a binary float.

A third of a millilitre has no finite decimal, and 112.5 / 3 worked with a cut-off third comes out a hair under
37.5 and would round down. So figures are kept as fractions until the one rounding at the end.
"""

from decimal import ROUND_HALF_UP, Context, Decimal, DivisionByZero, FloatOperation, InvalidOperation, Overflow
from fractions import Fraction

CONTEXT = Context(prec=50, rounding=ROUND_HALF_UP, traps=[FloatOperation, InvalidOperation, DivisionByZero, Overflow])
"""The context of every decimal operation here; the caller's own is neither read nor changed."""


def decimal_of(exact: Fraction) -> Decimal:
    """The figure as a decimal: exact where it ends within 50 digits, else cut there, half up."""
    return CONTEXT.divide(Decimal(exact.numerator), Decimal(exact.denominator))


def half_up(exact: Fraction, places: int) -> Decimal:
    """A figure, not negative, rounded to `places` decimals with a half going up."""
    scaled = exact * 10**places
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    return Decimal(whole).scaleb(-places, CONTEXT)


def ends(exact: Fraction) -> bool:
    """True where the figure has a finite decimal."""
    rest = exact.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return rest == 1


def written(value: Decimal) -> str:
    """As people should write it: commas from 1,000, a zero before the point, none at the end after it.

    Source: ISMP list of error-prone abbreviations, 2021; Joint Commission "Do Not Use" list.
    """
    text = f"{value:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def worth_showing(exact: Fraction) -> int:
    """How many decimals a working shows: all where they are six at most, else as many as four figures of weight."""
    if exact * 10**6 == int(exact * 10**6):
        return next(places for places in range(7) if exact * 10**places == int(exact * 10**places))
    places = 3
    while exact * 10**places < 1000 and places < 12:
        places += 1
    return places


def shown(exact: Fraction) -> str:
    """The figure for a working, with `about` where not all of its decimals are shown."""
    figure = half_up(exact, worth_showing(exact))
    return written(figure) if figure == exact else f"about {written(figure)}"
