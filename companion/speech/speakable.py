"""What a speech synthesiser should be given: units, figures and abbreviations in words."""

import re
from datetime import date, time
from decimal import Decimal

from companion.speech.calendar_words import say_date, time_forms
from companion.speech.numbers import NumberError, say_digits, say_number
from companion.speech.units import WRITTEN_UNITS, unit_name

_WORDED = "|".join(
    sorted({w for u in WRITTEN_UNITS for w in (unit_name(u).one, unit_name(u).many)} - {""}, key=len)[::-1]
)
_UNIT = "|".join(re.escape(unit) for unit in WRITTEN_UNITS)
_NUMBER = r"(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?|\.[0-9]+"
_START = r"(?<![\w.,/:-])"
_END = r"(?![\w/°%])"
# "The 1960s" is no measure.
_NEEDS_SPACE = frozenset({"s", "h", "m", "g", "L"})
# A measure before one of these is an adjective: "a 4 mm needle" is said without the s.
_THINGS = (
    r"(?=-|(?: (?:insulin|pen|oral|sterile|glass|plastic))? "
    r"(?:syringe|needle|cannula|vial|ampoule|bag|bottle|tablet|capsule|swab)s?\b)"
)
_MEASURE = re.compile(
    rf"{_START}(?:(?P<low>{_NUMBER}) ?(?P<join>[-–]| to | or | and ))?(?P<minus>[-−](?=[0-9]))?(?P<number>{_NUMBER})"
    rf"(?P<gap>[ -]?)(?P<unit>(?:{_UNIT}|{_WORDED})(?:/(?:{_UNIT}))*){_END}(?P<thing>{_THINGS})?"
)
_BARE_UNIT = re.compile(
    rf"(?P<per>\b(?:per|a|an|each|one|every) )?{_START}"
    rf"(?P<unit>(?:{_UNIT})(?:/(?:{_UNIT}))+|mL|dL|mg|mcg|kg|mmol|mEq|cm|mm|mmHg|kPa){_END}"
)
_TAG = re.compile(r"(?<=\b[Tt]ag )[0-9]{2,3}\b|(?<=\b[Tt]ags )[0-9]{2,3}(?: (?:and|or) [0-9]{2,3})?\b")
_STRENGTH = re.compile(r"\bU-(?P<number>[0-9]{2,3})\b")
_DATE = re.compile(rf"{_START}(?P<date>[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}})(?![\w-])")
_TIME = re.compile(rf"{_START}(?P<time>(?:[01][0-9]|2[0-3]):[0-5][0-9])(?![\w:])")
_DECIMAL = re.compile(rf"{_START}(?P<number>[0-9]+\.[0-9]+)(?![\w.-])")
_WORDS = (
    (re.compile(r"≤ ?(?=[0-9])"), "at most "),
    (re.compile(r"≥ ?(?=[0-9])"), "at least "),
    (re.compile(r"< ?(?=[0-9])"), "less than "),
    (re.compile(r"> ?(?=[0-9])"), "more than "),
    (re.compile(r"± ?(?=[0-9])"), "plus or minus "),
    (re.compile(r"\be\.g\.,?"), "for example"),
    (re.compile(r"\bi\.e\.,?"), "that is"),
    (re.compile(r"\bapprox\."), "approximately"),
    (re.compile(r"\bsubcut\b"), "subcutaneous"),
    (re.compile(r"\bIV\b"), "I V"),
    (re.compile(r" & "), " and "),
    (re.compile(r" = "), " equals "),
    (re.compile(r" \+ (?=[0-9])"), " plus "),
    (re.compile(r"(?<=\w) [x×] (?=[0-9])"), " times "),
    (re.compile(r"(?<=\w) [/÷] (?=[0-9])"), " divided by "),
    (re.compile(r"[µμ]g\b"), "mcg"),
    (re.compile(r"\b3/4\b"), "three quarters"),
    (re.compile(r"\b1/2\b|½"), "half"),
)


def speakable(text: str, language: str = "en-US") -> str:
    """`Draw 0.14 mL` -> `Draw zero point one four milliliters`. Other languages pass unchanged."""
    if not is_english(language):
        return text
    text = _TAG.sub(lambda m: re.sub("[0-9]+", lambda digits: say_digits(digits[0]), m[0]), text)
    text = _STRENGTH.sub(lambda m: f"U {say_number(Decimal(m['number']))}", text)
    text = _DATE.sub(_say_date, text)
    text = _TIME.sub(lambda m: time_forms(time.fromisoformat(m["time"]))[0], text)
    for written, words in _WORDS:
        text = written.sub(words, text)
    text = _MEASURE.sub(_say_measure, text)
    text = _BARE_UNIT.sub(_say_bare_unit, text)
    return _DECIMAL.sub(lambda m: _number(m["number"]) or m[0], text)


def is_english(language: str) -> bool:
    """Whether a BCP 47 tag such as `en-GB` means English."""
    return language.split("-", maxsplit=1)[0].lower() == "en"


def words_of(text: str, language: str = "en-US") -> str:
    """`Rapid-acting (U-100)` -> `rapid acting u one hundred`: how a name is said, as a phrase is written."""
    said = (
        re.sub(r"[0-9]+", lambda m: _number(m[0]) or say_digits(m[0]), speakable(text, language))
        if is_english(language)
        else text
    )
    return " ".join(re.findall(r"[^\W_]+(?:['’][^\W_]+)*", said.lower()))


def _number(written: str) -> str | None:
    try:
        return say_number(Decimal(written.replace(",", "")))
    except NumberError:
        return None


def _say_date(found: re.Match[str]) -> str:
    try:
        day = date.fromisoformat(found["date"])
    except ValueError:
        return found[0]
    return say_date(day)


def _say_measure(found: re.Match[str]) -> str:
    number = _number(found["number"])
    if number is None or (not found["gap"] and found["unit"] in _NEEDS_SPACE):
        return found[0]
    name = unit_name(found["unit"])
    single = found["thing"] is not None or found["gap"] == "-" or (number == "one" and not found["minus"])
    said = f"{'minus ' if found['minus'] else ''}{number} {name.one if single and not found['low'] else name.many}"
    if not found["low"]:
        return said
    low = _number(found["low"]) or found["low"]
    join = found["join"].strip()
    return f"{low} {join if join.isalpha() else 'to'} {said}"


def _say_bare_unit(found: re.Match[str]) -> str:
    name = unit_name(found["unit"])
    return f"{found['per']}{name.one}" if found["per"] else name.many
