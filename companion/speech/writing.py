"""The rule book of writings: which figures and units are refused, which are taken with a caution, and what to write.

One answer for the dose command, a reply typed or said, and the proofreader of procedure files.
Sources: ISMP List of Error-Prone Abbreviations (2021); Joint Commission "Do Not Use" list.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from companion.errors import DoseError, Miswritten
from companion.speech.calendar_words import NO_DAY
from companion.speech.numbers import NumberError, is_number_word, parse_number, written
from companion.speech.units import ANY_UNIT, MISREAD, Unit, better, is_unit, unit_name, unit_written

_ABBREVIATIONS: Final = {
    word: (words, why)
    for abbreviations, words, why in (
        ("QD qd q.d Q.D", "daily", "is misread as four times a day"),
        ("QOD qod q.o.d Q.O.D", "every other day", "is misread as daily, or four times a day"),
        ("OD O.D", "daily, or right eye", "means two things"),
        ("TIW tiw", "three times a week", "is misread as three times a day"),
        ("HS hs", "at bedtime, or half strength", "means two things"),
        ("BT", "at bedtime", "is misread as twice a day"),
        ("D/C", "discharge, or discontinue", "means two things"),
        ("IJ", "injection", "is misread as IV"),
        ("IN", "intranasal", "is misread as IM or IV"),
        ("UD", "as directed", "is misread as a unit dose"),
        ("SSRI SSI ss SS", "sliding scale, or half, in words", "is misread as another of these, or as 55"),
        ("SC SQ sc sq sub-q subq", "subcut, or subcutaneous", "is misread as SL, or as 5 every"),
        ("MSO4 MgSO4 MS", "the medicine's full name", "is taken for another medicine"),
    )
    for word in abbreviations.split()
}
_SIGNS: Final = tuple(
    (re.compile(pattern), why, words)
    for pattern, why, words in (
        (r"[µμ](?!g)", "is misread as an m", "micro in words"),
        (r"@", "is misread as a 2", "at"),
        (r"&", "is misread as a 2", "and"),
        (r"(?<=\s)\+(?=\s)|\+(?=\d)|(?<=\d)\+", "is misread as a 4", "plus, or and"),
        (r"[<>≤≥]", "is misread as its opposite, or as a figure", "less than, more than, at least, at most"),
        (r"°", "is misread as a 0", "degrees"),
        (r"\b1:\d{1,3}(?:,\d{3})+\b|\b1:\d{3,}\b", "is a ratio", "an amount per volume, such as `1 mg/mL`"),
        (
            r"(?<![\d/])[1-9]/[1-9](?![\d/])",
            "is a fraction, misread as a date or another figure",
            "half, a third and so on in words, or with a decimal point",
        ),
        (r"(?<![\d/])\d{1,2}/\d{1,2}/(?:\d{4}|\d{2})(?![\d/])", NO_DAY, "such as `2031-06-05`, or the month by name"),
    )
)
_ANY_SIGN: Final = re.compile(r"[0-9@&+<>≤≥°µμ]")
_TOKEN: Final = re.compile(r"[\w./-]*\w")
_UNIT: Final = rf"(?i:{ANY_UNIT})(?!\w)"
_FIGURE: Final = re.compile(
    rf"(?<![\w.,:])(?<!\w-)(?P<number>[0-9]{{1,3}}(?: [0-9]{{3}})+(?:\.[0-9]+)?(?= ?{_UNIT})"
    rf"|[.]?[0-9](?:[0-9.,]*[0-9])?(?:[.,](?= ?{_UNIT}))?)(?:(?P<gap> ?)(?P<unit>{_UNIT}))?"
)
_PLAIN: Final = re.compile(r"[0-9]+(\.[0-9]+)?")
_GROUPED: Final = re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]+)?")
_COMMA: Final = re.compile(r"(0|[1-9][0-9]*),[0-9]*[1-9]")
_START: Final = re.compile(r"([0-9.,]+)(\s*)(.*)", re.DOTALL)
_POWER: Final = re.compile(r"[0-9.,]+ ?([eE][-+]?[0-9]|[x×*^])")
_RANGE: Final = re.compile(r"[0-9.,]+ ?(?:-|–|to) ?[0-9]")
_RATIO: Final = re.compile(r"[0-9.,]+ ?: ?[0-9]")
_DESIGNATION: Final = re.compile(r"U-?(40|100|200|300|500)")
_SEPARATOR: Final = re.compile(r"\s*/\s*|\s+per\s+|\s+in\s+")
_LONGEST: Final = 60
_PARTS: Final = 3


@dataclass(frozen=True)
class Remark:
    """A piece of writing with what is wrong with it and what to write instead; `refused`, or taken with a caution."""

    found: str
    sentence: str
    refused: bool = True


@dataclass(frozen=True)
class Written:
    """What a writing means: a figure, exact, of a unit. `words` is how it stands in a working."""

    value: Fraction
    unit: Unit
    words: str
    cautions: tuple[str, ...] = ()


def remarks(text: str, *, laboratory: bool = False) -> Iterator[Remark]:
    """Everything in a text that the rule book speaks of: first what is refused wherever it stands, then its figures.

    A `laboratory` result may end in a zero, which shows how finely it was measured (Joint Commission).
    """
    text = text.replace("sub q", "sub-q")
    for token in (part for each in _TOKEN.findall(text) for part in ([each] if each == "D/C" else each.split("/"))):
        if token in _ABBREVIATIONS:
            words, why = _ABBREVIATIONS[token]
            yield Remark(token, f"`{token}` {why}; write {words}")
        elif token in MISREAD:
            yield _unit_remark(token, token)
    if not _ANY_SIGN.search(text):
        return
    for sign, why, words in _SIGNS:
        for hit in sign.finditer(text):
            yield Remark(hit[0], f"`{hit[0]}` {why}; write {words}")
    for hit in _FIGURE.finditer(text):
        yield from _figure_remarks(hit["number"], hit["gap"], hit["unit"] or "", laboratory)


def cautions(text: str) -> tuple[str, ...]:
    """What is taken and could be written better."""
    return tuple(remark.sentence for remark in remarks(text) if not remark.refused)


def _unit_remark(found: str, unit: str) -> Remark:
    name, why = better(unit) or (unit, "")
    return Remark(found, f"`{unit}` {why}; write `{name}`")


def _figure_remarks(number: str, gap: str | None, unit: str, laboratory: bool) -> Iterator[Remark]:
    """The first thing to say of a figure, and of the unit that follows it."""
    if unit and better(unit) and not (gap and unit in MISREAD) and (len(unit) > 1 or unit in ("l", *MISREAD)):
        yield _unit_remark(f"{number}{unit}" if not gap else unit, unit)
    elif unit and not gap and unit[0].isalpha() and unit != "G":
        yield Remark(number + unit, f"`{number}{unit}` has no space before the unit; write `{number} {unit}`")
    if not unit and (number.count(".") > 1 or ("," in number and not _GROUPED.fullmatch(number))):
        return  # a version, a date, a list
    try:
        figure(number, unit, laboratory=laboratory)
    except Miswritten as fault:
        if unit or not number.startswith("0") or "." in number:  # a time or a tag may begin with a zero
            yield Remark(number, fault.sentence)
        return
    whole = number.partition(".")[0]
    if "," not in whole and len(whole) == 5:
        tail = f" {unit}" if unit else ""
        eased = f"`{written(Decimal(number))}{tail}` is easier to read"
        yield Remark(number, f"`{number}{tail}` has five figures without a comma; {eased}", refused=False)


def figure(text: str, unit: str = "", *, laboratory: bool = False, counted: bool = True) -> Decimal:
    """A figure, perhaps below zero, as it should be written. Raises Miswritten.

    A leading zero always, a trailing zero never (Joint Commission "Do Not Use" list); commas from six figures on, and
    where they stand they stand every three figures (ISMP). `unit` is only for the sentence that says what to write.
    """
    tail = f" {unit}" if unit else ""
    bare = text.removeprefix("-")
    shown = f"`{text[:_LONGEST]}{tail}`"
    if bare.startswith("."):
        raise Miswritten(f"{shown} has a bare decimal point, which is easily missed; write `0{bare}{tail}`")
    if " " in bare:
        raise Miswritten(f"{shown} has a space inside the number; write `{bare.replace(' ', ',')}{tail}`")
    if "," in bare and not _GROUPED.fullmatch(bare):
        meant = f"; if a decimal is meant, write `{bare.replace(',', '.')}{tail}`" if _COMMA.fullmatch(bare) else ""
        raise Miswritten(
            f"{shown} has a comma out of place; commas part thousands (10,000), a point parts decimals{meant}"
        )
    if "," not in bare and not _PLAIN.fullmatch(bare):
        raise Miswritten(f"{shown} is no number; write figures with at most one point, such as `2.5`")
    plain = Decimal(bare.replace(",", ""))
    if "." in bare and bare.endswith("0") and not laboratory:
        raise Miswritten(
            f"{shown} has a zero at the end, which is misread as ten times as much; write `{written(plain)}{tail}`"
        )
    whole = bare.split(".", maxsplit=1)[0]
    if len(whole) > 1 and whole.startswith("0"):
        raise Miswritten(f"{shown} starts with a zero too many; write `{written(plain)}{tail}`")
    if counted and "," not in whole and len(whole) > 5:
        raise Miswritten(
            f"{shown} has {len(whole)} figures without commas, easily miscounted; write `{written(plain)}{tail}`"
        )
    return -plain if text != bare else plain


def read(text: str, *, laboratory: bool = False, example: str = "14 units", words: bool = True) -> Written:
    """`14 units`, `1,500 mL`, `2.5 mg/kg`, `160 mg/5 mL`, `25,000 units in 500 mL`, `U-100`; `fourteen units` where
    `words` count. Raises Miswritten for anything else; `example` is what would do.
    """
    text = " ".join(text.split())
    accepted = f"a number, a space and a unit, such as `{example}`"
    if not text:
        raise Miswritten("it is empty", accepted)
    if len(text) > _LONGEST:
        raise Miswritten(f"`{text[:_LONGEST]}`... is too long to be a quantity", "such as `14 units` or `160 mg/5 mL`")
    if found := _DESIGNATION.fullmatch(text):
        return Written(Fraction(int(found[1])), Unit(("units", "mL")), f"{found[1]} units per mL")
    below = text[0] in "-−–"
    text = text[1:] if below else text
    if _RATIO.match(text):
        raise Miswritten(f"`{text}` is a ratio; write an amount per volume, such as `1 mg/mL`")
    if _RANGE.match(text):
        raise Miswritten(f"`{text}` is a range; write one figure")
    if _POWER.match(text):
        raise Miswritten(f"`{text}` has a power or a product for a number; write it out, such as `{example}`")
    for remark in remarks(text, laboratory=laboratory):
        if remark.refused:
            raise Miswritten(remark.sentence)
    head, *rest = _SEPARATOR.split(text)
    if words and not head[:1].isdecimal():
        return _said(text, accepted)
    value, name = _number_and_unit(head, laboratory, accepted)
    names, working = [name], [f"{_grouped(head)} {Unit((name,)).after(_grouped(head))}"]
    for part in rest:
        if part[:1].isdigit() or part[:1] == ".":
            divisor, name = _number_and_unit(part, laboratory, accepted)
            if not divisor:
                raise Miswritten(f"`{part}` is zero; write more than zero")
            value /= divisor
            working.append(f" in {_grouped(part)} {name}")
        else:
            name = unit_written(part)
            working.append(" per " + Unit((name,)).after("1"))
        names.append(name)
    if len(names) > _PARTS:
        raise Miswritten(f"`{text}` has too many parts", "at most two `per`, such as `10 mcg/kg/min`")
    shown = ("-" if below else "") + "".join(working)
    return Written(-value if below else value, Unit(tuple(names)), shown, cautions(text))


def _number_and_unit(text: str, laboratory: bool, accepted: str) -> tuple[Fraction, str]:
    found = _START.fullmatch(text)
    if not found:
        raise Miswritten(f"`{text}` does not begin with a number in figures", accepted)
    number, _, name = found.groups()
    value = figure(number, name, laboratory=laboratory)
    if not name:
        raise Miswritten(f"`{text}` has no unit", accepted)
    unit, _, more = name.partition(" ")
    if more and is_unit(unit) and not is_unit(name):
        raise Miswritten(f"`{text}` goes on after its unit with `{more}`", accepted)
    return Fraction(value), unit_written(name)


def _grouped(text: str) -> str:
    found = _START.fullmatch(text)
    return written(Decimal(found[1].replace(",", ""))) if found else text


def _said(text: str, accepted: str) -> Written:
    """A figure and a unit in words: `fourteen units`, `half a milliliter`, `one hundred units per milliliter`."""
    said = re.sub(r"[-,]", " ", text.lower()).split()
    if not said or not is_number_word(said[0]):
        raise Miswritten(f"`{text}` does not begin with a number in figures or words", accepted)
    for at in range(1, len(said)):
        number, unit = " ".join(said[:at]), " ".join(said[at:])
        try:
            name = unit_name(unit)
        except DoseError:
            continue
        if f"{number} {unit}" == name.half or number in ("half a", "half an"):
            number = "half"
        value = said_number(number, unit)
        names = tuple(unit_written(part.strip()) for part in re.split(r"/| per ", unit))
        return Written(Fraction(value), Unit(names), f"{written(value)} {Unit(names).after(written(value))}")
    parse_number(" ".join(said))
    raise Miswritten(f"`{text}` has no unit", accepted)


def said_number(words: str, unit: str = "") -> Decimal:
    """A number in words; what would be refused in figures is refused in words. Raises Miswritten or NumberError."""
    try:
        return parse_number(words)
    except NumberError:
        head, point, tail = words.partition(" point ")
        digits = tail.split()
        if point and digits and digits[-1] in ("zero", "oh", "nought"):
            try:
                as_written = parse_number(f"{head} point {tail} one")
            except NumberError:
                pass
            else:
                figure(f"{as_written:f}"[:-1], unit)
        raise
