"""Numbers that stand for a person in free text: of records, of insurances, of telephones."""

import re
from datetime import date

from companion.record.personal.free_text import Figure, Token, figures

LONG = 7
"""Figures in a row, grouped or not, that are nothing a procedure measures."""
SPOKEN = 6
"""As `LONG`, for figures said one by one."""

_BEFORE = 80
"""Letters before a number that may say what it is of."""

_THINGS = re.compile(
    r"\b(?:lot|batch|serial|expir\w*|exp|use by|best before|(?<!area )(?<!post )(?<!zip )code|receipt|device|model|"
    r"version|ticket|asset|tag|gtin|reference|sticker|candidate|ref|seal|bleep(?:ed)?|pager|form)\b"
    r"[\s:#.=]*(?:number|no|date|is)?[\s:#.]*(?:\w{1,5}[\s-]+){0,8}(?:[a-z]{1,3})?\Z",
    re.IGNORECASE,
)
_ABOUT_THINGS = re.compile(r"\b(?:lot|batch|serial|asset|pump|extension|bleep(?:ed)?|gtin)\b", re.IGNORECASE)
_TELEPHONE = 8
"""Figures from which a number may be a telephone's although a thing is told of before it."""
_PERSON = (
    r"(?:nhs|mrn|m r n|hospital|hosp|record|patient|case|chart|insurance|passport|social(?: security)?|"
    r"ssn|medicare|medicaid|unit|visit|encounter|account|fin|chi|identifier|registration|registry|"
    r"licen[cs]e|band|wristband|identity|badge|staff|employee|pin|pesel|aadhaar|pps|ic|health ?card|"
    r"card|id|ward list|phone|telephone|mobile|cell|tel|contact|dial|ring|call|text|fax)"
)
_BETWEEN = (
    r"(?:[\s:#.,'\"-]|\b(?:number|numbers|no|nr|id|is|was|the|reads|says|on|band|ends|it|its|me|her|him|back|patient|"
    r"matches|six|digits|order|identifier|under|his|with|in|security|list|record)\b)*"
)
_OF_A_PERSON = re.compile(rf"\b{_PERSON}s?{_BETWEEN}(?:\b[a-z]{{1,3}}\b[\s-]*){{0,3}}\Z", re.IGNORECASE)
_GROUPED = re.compile(r"(?<![\d.])\+?\(?\d(?:[\s\-./()]{0,2}\d)+(?![\d.]*%)")
_LETTERED = re.compile(
    r"\b(?=[A-Za-z]*\d)(?=(?:[A-Za-z -]*\d){4})[A-Za-z0-9]+(?:[ -](?=[A-Za-z0-9]*\d)[A-Za-z0-9]+)*\b"
)
_CALLED = re.compile(r"\b(?:phone|telephone|mobile|cell|tel|contact|dial|ring|call|text|fax)\b", re.IGNORECASE)
_HERS = re.compile(r"\b(?:her|his|my|him|them|their|me|mobile|cell|daughter|son|wife|husband|home)\b", re.IGNORECASE)
_INSIDE = 5
"""Figures up to which a number that is called is one of the house, unless it is said to be somebody's."""
_MEASURED = re.compile(r"\d{2,3}/\d{2,3}|\d{1,4}\.\d{1,3}|[0-3]?\d[./][01]?\d\.?|\d{1,4}/\d{1,2}")
"""`128/76`, `81.4`, `28/11`, `1000/8`."""
_UNIT = re.compile(
    r"\s*(?:units?|iu|ie|ml|mls|mg|mcg|micrograms?|milligrams?|millilit\w+|mmol|g|grams?|kg|litres?|liters?|steps|per|in)\b|"
    r"\s*%",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"\bnumber(?: is)?\s*\Z", re.IGNORECASE)
_NAMED = re.compile(r"\bname(?:'s| is)\b", re.IGNORECASE)
_NEVER = 99
_COUNTING = ("0123456789", "9876543210")


def number_of_a_person(text: str, said: tuple[Token, ...], today: date) -> bool:
    """Whether a number in the text is a person's by its length, or by what it is said to be."""
    most = 5 if _NAMED.search(text) else LONG
    return any(
        _tells(
            digits,
            text[max(0, start - _BEFORE) : start],
            limit if limit == _NEVER else min(limit, most),
            today,
            written,
        )
        and not (written and (_MEASURED.fullmatch(written.strip()) or _UNIT.match(text, start + len(written))))
        for digits, start, limit, written in _runs(text, said)
    )


def _tells(digits: str, before: str, limit: int, today: date, written: str) -> bool:
    if _THINGS.search(before) or _is_a_day(written, today):
        return False
    of_a_person = _OF_A_PERSON.search(before)
    if of_a_person:
        inside = _CALLED.match(of_a_person.group()) and not _HERS.search(before)
        return len(digits) > _INSIDE if inside else len(digits) >= 4
    if (
        len(digits) < _TELEPHONE
        and _ABOUT_THINGS.search(before)
        and not (_CALLED.search(before) and _HERS.search(before))
    ):
        return False
    return len(digits) >= (SPOKEN if limit == _NEVER and _NUMBER.search(before) else limit)


def _runs(text: str, said: tuple[Token, ...]) -> list[tuple[str, int, int, str]]:
    """Figures that belong together: their digits, where they begin, how many are a person's, and as written."""
    found = []
    for match in _GROUPED.finditer(text):
        found.append((re.sub(r"\D", "", match.group()), match.start(), LONG, match.group()))
    for match in _LETTERED.finditer(text):
        digits = re.sub(r"\D", "", match.group())
        if match.group()[0].isalpha() or re.search(r"\d[A-Za-z]", match.group()):
            found.append((digits, match.start(), 5, match.group()))
    row: list[Figure] = []
    for figure in (*figures(said), None):
        if row and (figure is None or not _joined(said, row[-1].last, figure.first) or not _single(figure)):
            digits = "".join(each.digits for each in row)
            found.append((digits, said[row[0].first].start, _NEVER if _counted(digits) else SPOKEN, ""))
            row = []
        if figure is not None and _single(figure):
            row.append(figure)
    return found


def _joined(said: tuple[Token, ...], one: int, two: int) -> bool:
    """Two figures said one by one follow each other, or with the word for a sign between them."""
    return two == one + 1 or (two == one + 2 and said[one + 1].plain in ("dash", "hyphen", "slash", "space"))


def _counted(digits: str) -> bool:
    """Somebody counts, up or down."""
    return any(digits.removesuffix("10") in way and digits for way in _COUNTING)


def _single(figure: Figure) -> bool:
    """A figure said by itself, or `double oh`."""
    return len(figure.digits) == 1 or (figure.spoken and len(set(figure.digits)) == 1 and figure.last > figure.first)


def _is_a_day(written: str, today: date) -> bool:
    """A day or a month near today: of a file, an expiry, an opening."""
    shape = re.fullmatch(
        r"(20\d\d)[01]\d[0-3]\d(?:[T_-]?\d{4,6}Z?)?|(20\d\d)[-./]?[01]\d(?:[-./]?[0-3]\d)?|[0-3]?\d[-./][01]?\d[-./](20\d\d)",
        written.strip(),
    )
    return shape is not None and abs(int(shape[1] or shape[2] or shape[3]) - today.year) <= 15
