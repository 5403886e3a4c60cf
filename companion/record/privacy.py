"""Free text that may name a person is held back from the record.

Looked for: a date of birth; a name together with a long number; a number said to be a person's (hospital or phone
number and the like); a postal or e-mail address. Batch numbers, doses, times and expiry dates are what a procedure
talks of. Nothing of this is certain: it catches the usual slips in English, not someone who wants to write a name down.
"""

import re
from datetime import date
from itertools import pairwise

from companion.errors import UsageError

_DIGIT = r"(?:\d|\b(?:zero|oh|one|two|three|four|five|six|seven|eight|nine)\b)"
_LONG = re.compile(rf"{_DIGIT}(?:[\s./-]*{_DIGIT}){{4,}}", re.IGNORECASE)
"""Five digits or more in a row, figures or words, however they are grouped."""

_OF_A_THING = re.compile(
    r"\b(?:lot|batch|serial|expir\w*|exp|code|receipt|device|model)[\s:#.]*(?:number|no|date)?[\s:#.]*"
    r"(?:[a-z]{1,3}[\s-]*)?\Z",
    re.IGNORECASE,
)
_OF_A_PERSON = re.compile(
    r"\b(?:nhs|mrn|hospital|record|patient|case|chart|insurance|passport|social security|phone|telephone|mobile|tel)"
    r"[\s:#.]*(?:number|no|id)?(?:\s+is)?[\s:#.]*\Z",
    re.IGNORECASE,
)
_NAMED = re.compile(
    r"\b(?:mr|mrs|ms|miss|mx|dr|mister|missus|doctor|name is|name's|named|called|surname|first name)\b\.?"
    r"\s+[^\W\d_]{2,}",
    re.IGNORECASE,
)
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?"
_DAY = r"\d{1,2}(?:st|nd|rd|th)?"
_YEAR = r"(?P<year>(?:19|20)\d\d)"
_DATES = [
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"\b{_YEAR}[-/.]\d{{1,2}}[-/.]\d{{1,2}}\b",
        rf"\b\d{{1,2}}[-/.]\d{{1,2}}[-/.]{_YEAR}\b",
        rf"\b{_DAY}(?:\s+of)?\s+{_MONTH}[\s,]+{_YEAR}\b",
        rf"\b{_MONTH}\s+{_DAY}[\s,]+{_YEAR}\b",
    )
]
_BIRTH = re.compile(r"\b(?:d\.?o\.?b|date of birth|birth ?date|birthday|born)\b", re.IGNORECASE)
_EMAIL = re.compile(r"[\w.+-]+@[\w-]+\.\w")

_STREET = re.compile(
    r"\b\d{1,4}\s?[a-z]?,?\s+(?:[^\W\d_][\w'’-]*\s+){1,3}"
    r"(?:street|road|rd|avenue|lane|drive|boulevard|crescent|terrace)\b\.?",
    re.IGNORECASE,
)
_LIVES = re.compile(r"\b(?:home address|lives (?:at|in|on)|postcode|post code|zip code)\b", re.IGNORECASE)


def looks_private(text: str, today: date) -> str:
    """What in `text` looks as if it named a person, in a few plain words; empty when nothing does. A full date more
    than two years before that of `today` counts as a date of birth: no vial in use was opened or expired then."""
    years = [int(found["year"]) for each in _DATES for found in each.finditer(text)]
    if _BIRTH.search(text) or any(year < today.year - 2 for year in years):
        return "a date of birth"
    if _EMAIL.search(text):
        return "an e-mail address"
    if _STREET.search(text) or _LIVES.search(text):
        return "a postal address"
    numbers = [found.start() for found in _LONG.finditer(text) if not _OF_A_THING.search(text[: found.start()])]
    if any(_OF_A_PERSON.search(text[:start]) for start in numbers):
        return "a number that stands for a person"
    if numbers and (_NAMED.search(text) or _two_capitals(text)):
        return "a name with a number"
    return ""


def held_back(text: str, today: date) -> str:
    """`text` as it may stand in a record: itself, or a note in its place of what it looks like."""
    what = looks_private(text, today)
    return f"[held back: it looks like {what}]" if what else text


def refuse_private(what: str, text: str, today: date, allowed: bool = False) -> str:
    """`text` as it may stand in a record or an export, where `what` names it for people, such as `the remark`.

    Raises UsageError, naming what it looks like, unless `allowed` says that somebody decided so.
    """
    found = looks_private(text, today)
    if found and not allowed:
        raise UsageError(f"{what}: held back: it looks like {found}; accepted: words that name nobody")
    return text


def _two_capitals(text: str) -> bool:
    """Two words in a row written like a first and a last name."""
    words = [word.strip(",;:.()") for word in text.split()]
    return any(a.istitle() and b.istitle() and a.isalpha() for a, b in pairwise(words))
