"""Numbers: exact, written, said, and understood or refused; never a binary float.

A third of a millilitre has no finite decimal, and 112.5 / 3 worked with a cut-off third comes out a hair under
37.5 and would round down. So figures are kept as fractions until the one rounding at the end.
"""

import re
from decimal import ROUND_HALF_UP, Context, Decimal, DivisionByZero, FloatOperation, InvalidOperation, Overflow
from fractions import Fraction
from functools import lru_cache

from num2words import num2words

from companion.errors import Miswritten

_LARGEST = Decimal(10) ** 9
_DECIMALS = 6
_LONGEST = 300
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_SIGNS = ("minus", "negative")
_ZEROS = ("zero", "oh", "nought")
AS_DIGIT = {**{word: str(i) for i, word in enumerate(_DIGITS)}, "oh": "0", "nought": "0"}
"""The words that say one digit."""
SMALL = {num2words(n).replace("-", " "): n for n in range(20)} | {num2words(n): n for n in range(20, 100, 10)}
"""The words that numbers under a hundred are made of, and their worth."""
_SCALES = {"thousand": 1_000, "million": 1_000_000}


class NumberError(Miswritten):
    """Something said, or to be said, that is not surely one number."""


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


def plain(number: Decimal) -> str:
    """Digits as they are written: `0.5`, `14`; no exponent, no trailing zero. Raises NumberError out of bounds."""
    if not number.is_finite() or abs(number) >= _LARGEST:
        raise NumberError(f"{number} cannot be said", "numbers under a thousand million")
    digits = written(number).replace(",", "")
    if len(digits.partition(".")[2]) > _DECIMALS:
        raise NumberError(f"{digits} cannot be said: it has more than {_DECIMALS} decimal places")
    return "0" if digits == "-0" else digits


@lru_cache(maxsize=4096)
def say_number(number: Decimal) -> str:
    """The one form the program speaks: `one hundred five`, `zero point one four`."""
    return natural_forms(number)[0]


@lru_cache(maxsize=4096)
def natural_forms(number: Decimal) -> tuple[str, ...]:
    """Every way the number is said as a whole, the program's own first."""
    below_zero, whole, fraction = _parts(number)
    if not fraction:
        return _signed(below_zero, _cardinals(int(whole)))
    tails = digit_runs(fraction)
    heads = _cardinals(int(whole)) if whole != "0" else ("zero", "", "oh", "nought")
    forms = [f"{head} point {tail}".strip() for head in heads for tail in tails]
    if fraction == "5":
        forms += [f"{head} and a half" for head in heads] if whole != "0" else ["a half", "one half", "half"]
    return _signed(below_zero, forms)


@lru_cache(maxsize=4096)
def digit_forms(number: Decimal) -> tuple[str, ...]:
    """Every way the number is said digit by digit, as when asked again: `one four`, `zero point one four`."""
    below_zero, whole, fraction = _parts(number)
    heads = digit_runs(whole)
    if not fraction:
        return _signed(below_zero, heads if whole != "0" else ("zero", "nought"))
    if whole == "0":
        heads = ("zero", "", "oh", "nought")
    return _signed(below_zero, [f"{head} point {tail}".strip() for head in heads for tail in digit_runs(fraction)])


def spoken_forms(number: Decimal) -> tuple[str, ...]:
    """Every way the number may be said, the program's own first, each once."""
    return tuple(dict.fromkeys(natural_forms(number) + digit_forms(number)))


def say_digits(digits: str) -> str:
    """`41` -> `four one`."""
    return " ".join(_DIGITS[int(digit)] for digit in digits)


def parse_number(text: str) -> Decimal:
    """The number said, in words. Raises NumberError unless every word is understood as exactly one number.

    Strict by construction: a reading is kept only if `text` is one of the spoken forms of what was read.
    """
    said = re.sub(r"[\s-]+", " ", text).strip().lower().replace("naught", "nought")
    words = said.split(" ")
    below_zero = words[0] in _SIGNS
    number = _reading(words[1:] if below_zero else words) if len(text) <= _LONGEST else None
    if number is None:
        raise _refusal(text)
    number = -number if below_zero else number
    try:
        known = said in spoken_forms(number)
    except NumberError:
        known = False
    if not known:
        raise _refusal(text)
    return number


def is_number_word(word: str) -> bool:
    """Whether a number may begin with a word."""
    return word in AS_DIGIT or word in SMALL or word in _SIGNS or word in ("a", "half", "point")


def _refusal(text: str) -> NumberError:
    return NumberError(
        f"`{' '.join(text.split())[:60]}` is not surely one number",
        "one whole number such as `fourteen`, its digits such as `one four`, or a decimal such as "
        "`zero point one four` without a last zero",
    )


def _parts(number: Decimal) -> tuple[bool, str, str]:
    """Whether below zero, and the digits before and after the point."""
    digits = plain(number)
    whole, _, fraction = digits.lstrip("-").partition(".")
    return digits.startswith("-"), whole, fraction


def _signed(below_zero: bool, forms: list[str] | tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{sign} {form}" for form in forms for sign in _SIGNS) if below_zero else tuple(forms)


def digit_runs(digits: str) -> tuple[str, ...]:
    """`405` -> `four zero five`, `four oh five`, `four nought five`; one form where there is no zero."""
    zeros = _ZEROS if "0" in digits else _ZEROS[:1]
    return tuple(" ".join(zero if d == "0" else _DIGITS[int(d)] for d in digits) for zero in zeros)


@lru_cache(maxsize=4096)
def _cardinals(number: int) -> tuple[str, ...]:
    """`one hundred five`, `one hundred and five`, `a hundred five`, `a hundred and five`; `twelve hundred` too."""
    if number == 0:
        return ("zero", "nought")
    british = num2words(number).replace(",", "").replace("-", " ")
    forms = [british.replace(" and ", " "), british]
    forms += ["a" + form[3:] for form in forms if form.startswith(("one hundred", "one thousand"))]
    hundreds, rest = divmod(number, 100)
    if 11 <= hundreds <= 99 and hundreds % 10:
        head = f"{_cardinals(hundreds)[0]} hundred"
        tail = _cardinals(rest)[0] if rest else ""
        forms += [f"{head} {tail}".strip()] + ([f"{head} and {tail}"] if rest else [])
    return tuple(dict.fromkeys(forms))


def _reading(words: list[str]) -> Decimal | None:
    """What the words would amount to, read leniently; `parse_number` then checks the answer."""
    if words in (["half"], ["a", "half"], ["one", "half"]):
        return Decimal("0.5")
    if words[-3:] == ["and", "a", "half"]:
        whole = _whole(words[:-3])
        return None if whole is None else whole + Decimal("0.5")
    if "point" not in words:
        return _whole(words)
    at = words.index("point")
    head, tail = words[:at], words[at + 1 :]
    whole = Decimal(0) if head in ([], ["oh"]) else _whole(head)
    if whole is None or not tail or any(word not in AS_DIGIT for word in tail):
        return None
    return whole + Decimal("0." + "".join(AS_DIGIT[word] for word in tail))


def _whole(words: list[str]) -> Decimal | None:
    if words and all(word in AS_DIGIT for word in words):
        return Decimal("".join(AS_DIGIT[word] for word in words))
    total = group = 0
    for word in words:
        if word in SMALL:
            group += SMALL[word]
        elif word == "a":
            group += 1
        elif word == "hundred":
            group *= 100
        elif word in _SCALES:
            total += group * _SCALES[word]
            group = 0
        elif word != "and":
            return None
    return Decimal(total + group) if words else None
