"""Dates of birth in free text, in figures or in words."""

import re
from datetime import date

from companion.record.personal.free_text import Figure, Token, figures

_BIRTH = re.compile(
    r"\b(?:d\.?\s?o\.?\s?b\b|date of birth|birth ?dates?|birth ?days?|born|birth|geburtstag|"
    r"geboren|geb\.|geburtsdatum|nacid[oa]|nacimiento|urodzon[ya]|urodzenia|ipinanganak|kaarawan|"
    r"turn(?:s|ed) (?:\d\d|(?:thir|for|fif|six|seven|eigh|nine)ty\w*))|(?<![\w.])b\.(?=\s*\d)",
    re.IGNORECASE,
)
_NEAR = 60
"""Letters within which a figure belongs to the word for a birth."""
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = re.compile(
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|"
    r"nov(?:ember)?|dec(?:ember)?|"
    r"enero|febrero|marzo|abril|mayo|junio|julio|agosto|septiembre|octubre|noviembre|diciembre|"
    r"januar|februar|marz|mai|juni|juli|oktober|dezember|"
    r"stycznia|lutego|marca|kwietnia|maja|czerwca|lipca|sierpnia|wrzesnia|pazdziernika|listopada|grudnia)\Z"
)
_THINGS = re.compile(
    r"\b(?:expir\w*|exp|opened|use by|best before|good (?:un)?til\w*|until|till|lot|batch|made|manufactured|version|"
    r"policy|protocol|printed|checked|control|last (?:dose|one|jab)|consent|dated|dressing|inserted|went in|sited|"
    r"serviced|calibrated|calibration|recorded|session|approved|signed|issued|revised|revision|review|edition|guideline|"
    r"leaflet|form|score|scored|marks|grade|overall|decision|delivered|installed|tetanus|booster|vaccinated|verfall\w*|anbruch\w*|caduc\w*|waznosci)\b"
    r"[^.;]*\Z",
    re.IGNORECASE,
)
_LINK = frozenset(("of", "the", "-", "/", ".", ",", "in", "", "and", "de", "del"))
"""An apostrophe has no plain letters."""
_AHEAD = 5
"""Years from today up to which a date of two-figure years is an expiry rather than a birth."""


def date_of_birth(text: str, said: tuple[Token, ...], today: date) -> bool:
    """Whether a date stands in the text that is said to be of a birth, or lies more than two years back."""
    dates = _dates(said)
    spots = [match.span() for match in _BIRTH.finditer(text)]
    for begin, end, year in dates:
        start, stop = said[begin].start, said[end].end
        if any(-_NEAR < start - last < _NEAR and not _THINGS.search(text[last:start]) for _, last in spots):
            return True
        if any(0 <= first - stop < _NEAR for first, _ in spots):
            return True
        if year is not None and _long_ago(year, today) and not _THINGS.search(text[max(0, start - _NEAR) : start]):
            return True
    return bool(spots) and (_born_in(text) or any(_three(said, text, last) for _, last in spots))


def _three(said: tuple[Token, ...], text: str, last: int) -> bool:
    """Three figures in a row follow the word for a birth: `date of birth oh three oh four fifty seven`."""
    row = [figure for figure in figures(said) if 0 <= said[figure.first].start - last < _NEAR]
    return any(
        _follow(said, one.last, two.first) and _follow(said, two.last, three.first)
        for one, two, three in zip(row, row[1:], row[2:], strict=False)
        if not _THINGS.search(text[last : said[one.first].start])
    )


def _born_in(text: str) -> bool:
    """`born in sixty one`, `born in May`, `year of birth 66`."""
    said = r"born (?:in )?(?:the (?:\w+ ){1,3})?|birth,? (?:is |was )?(?:in )?"
    figure = r"(?:\d\d|(?:nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|two thousand)\b)"
    month = "(?:" + "|".join(_MONTHS) + ")"
    return re.search(rf"\b(?:{said})(?:{figure}|{month})", text, re.IGNORECASE) is not None


def _long_ago(year: int, today: date) -> bool:
    if year < 100:
        return not today.year - 2 <= 2000 + year <= today.year + _AHEAD
    return 1880 < year < today.year - 2


def _dates(said: tuple[Token, ...]) -> list[tuple[int, int, int | None]]:
    """The dates of a text: places of the first and the last token, and the year where one is told."""
    found: list[tuple[int, int, int | None]] = []
    row = list(figures(said))
    for at, figure in enumerate(row):
        if len(figure.digits) == 8 and _eight(figure.digits):
            found.append((figure.first, figure.last, _eight(figure.digits)))
        found += _with_month(said, row, at) + _in_figures(said, row, at)
        year = _year(said, row, at)
        if year is not None and year[0] > 1880 and year[0] < 2100:
            found.append((figure.first, year[1], None))
    return found


def _eight(digits: str) -> int:
    """The year of a date of eight figures written in one; 0 when it is none."""
    year, month, day = int(digits[:4]), int(digits[4:6]), int(digits[6:])
    if 1880 < year < 2100 and 1 <= month <= 12 and 1 <= day <= 31:
        return year
    year, month, day = int(digits[4:]), int(digits[2:4]), int(digits[:2])
    return year if 1880 < year < 2100 and 1 <= month <= 12 and 1 <= day <= 31 else 0


def _follow(said: tuple[Token, ...], one: int, two: int) -> bool:
    """Only signs and small words stand between two places."""
    return two - one <= 4 and all(said[at].plain in _LINK for at in range(one + 1, two))


def _with_month(said: tuple[Token, ...], row: list[Figure], at: int) -> list[tuple[int, int, int | None]]:
    """`the third of March 48`, `March 3rd, 1948`, `born March 1950`."""
    figure = row[at]
    for place in range(max(0, figure.first - 3), min(len(said), figure.last + 4)):
        if not _MONTH.match(said[place].plain):
            continue
        if said[place].plain == "may" and place == figure.last + 1 and figure.spoken and not figure.ordinal:
            continue  # "one may"
        if place > figure.last and _follow(said, figure.last, place):
            later = next((n for n in range(at + 1, len(row)) if row[n].first > place), None)
            year = _year(said, row, later) if later is not None and _follow(said, place, row[later].first) else None
            return [(figure.first, year[1] if year else place, year[0] if year else None)]
        if place < figure.first and _follow(said, place, figure.first):
            after = at + 1
            year = None
            if after < len(row) and _follow(said, figure.last, row[after].first):
                year = _year(said, row, after)
            return [(place, year[1] if year else figure.last, year[0] if year else None)]
    return []


def _in_figures(said: tuple[Token, ...], row: list[Figure], at: int) -> list[tuple[int, int, int | None]]:
    """`12-03-48`, `twelve three forty eight`, `the eighth of the eighth thirty three`, `1948/03/12`, `seven one`."""
    figure = row[at]
    if at + 1 >= len(row) or not _follow(said, figure.last, row[at + 1].first):
        return []
    second = row[at + 1]
    third = row[at + 2] if at + 2 < len(row) and _follow(said, second.last, row[at + 2].first) else None
    if 1880 < figure.value < 2100 and third and second.value <= 12 and third.value <= 31:
        return [(figure.first, third.last, figure.value)]
    if not (1 <= figure.value <= 31 and 1 <= second.value <= 31 and min(figure.value, second.value) <= 12):
        return []
    year = _year(said, row, at + 2) if third else None
    if year is None:
        return [(figure.first, second.last, None)] if said[second.first - 1].text not in ".," else []
    more = (year[2] + 1 < len(row) and row[year[2] + 1].first <= year[1] + 2) or (
        at > 0 and row[at - 1].last + 1 == figure.first
    )
    return [(figure.first, year[1], None if more else year[0])]


def _year(said: tuple[Token, ...], row: list[Figure], at: int) -> tuple[int, int, int] | None:
    """A year, the place of its last token, and the place of its last figure: `1948`, `48`, `nineteen forty eight`."""
    figure = row[at]
    following = row[at + 1] if at + 1 < len(row) and row[at + 1].first == figure.last + 1 else None
    if figure.ordinal:
        return None
    if figure.spoken and figure.value in (19, 20) and following and 9 < following.value < 100:
        return figure.value * 100 + following.value, following.last, at + 1
    if figure.spoken and figure.value == 19 and following and following.digits == "0":
        return 1900, following.last, at + 1
    if figure.digits == "2" and said[figure.last + 1 : figure.last + 2] and said[figure.last + 1].plain == "thousand":
        last, ones = figure.last + 1, 0
        if at + 1 < len(row) and row[at + 1].first - last <= 2 and row[at + 1].value < 100:
            last, ones = row[at + 1].last, row[at + 1].value
            return 2000 + ones, last, at + 1
        return 2000, last, at
    if len(figure.digits) == 4 and 1880 < figure.value < 2100:
        return figure.value, figure.last, at
    if len(figure.digits) == 2 and figure.value >= (20 if figure.spoken else 0):
        return figure.value, figure.last, at
    return None
