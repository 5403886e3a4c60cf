"""Values named inside a sentence: which of those that may be meant here its words hold, none of them guessed."""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date
from decimal import Decimal

from companion.errors import CompanionError
from companion.meaning.typed import parse_typed
from companion.speech.calendar_words import named_dates
from companion.speech.numbers import is_number_word, parse_number, plain
from companion.speech.speakable import is_english, words_of
from companion.speech.units import is_unit, parse_unit, unit_name
from companion.speech.value_phrases import phrases_for
from companion.speech.values import DateValue, NumberValue, TagValue, Value, ValueSpec

_INSIDE = frozenset({"and", "point", "hundred", "thousand", "oh", "half", "a", "quarter"})
_OTHER_WORDS = {
    **{"mil": "mL", "mils": "mL", "mills": "mL", "mls": "mL", "ml": "mL", "millilitre": "mL", "millilitres": "mL"},
    **{"mig": "mg", "migs": "mg", "mgs": "mg", "mics": "mcg", "unit": "units", "percent": "%", "per cent": "%"},
}
"""How units are called at the bedside (from memory); a value heard so is read back in full all the same."""
_HUNDREDS = re.compile(
    r"(one|two|three|four|five|six|seven|eight|nine) "
    r"((?:ten|eleven|twelve|thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen)|"
    r"(?:twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety)(?: (?:one|two|three|four|five|six|seven|eight|nine))?)"
)
"""`one seventy two`: how three figures are said of a glucose or a weight."""


def values_in(said: str, spec: ValueSpec, today: date, language: str = "en-US") -> list[Value]:
    """The values of `spec` that stand in the words, each once, in the order said.

    Of numbers only those whose unit, where one is said, is the one asked for, and that fit its range and steps. Two
    different ones are for the caller to ask about.
    """
    words = words_of(said, language).split()
    found = _numbers(words, spec) if isinstance(spec, NumberValue) else _phrases(words, spec, today, language)
    more = _tags(words, spec) if isinstance(spec, TagValue) else _dates(said, spec, today, language)
    return list(dict.fromkeys((*found, *more)))


def _phrases(words: Sequence[str], spec: ValueSpec, today: date, language: str) -> Iterator[Value]:
    """The longest phrase that stands at each place."""
    known: Mapping[str, Value] = {
        **phrases_for(spec, today, digits_only=True, language=language),
        **phrases_for(spec, today, language=language),
    }
    longest = max(len(phrase.split()) for phrase in known)
    at = 0
    while at < len(words):
        for end in range(min(len(words), at + longest), at, -1):
            value = known.get(" ".join(words[at:end]))
            if value is not None:
                yield value
                at = end - 1
                break
        at += 1


def _dates(said: str, spec: ValueSpec, today: date, language: str) -> Iterator[Value]:
    """Dates as a dictation writes them: `March 4, 2030`."""
    for written in named_dates(said) if isinstance(spec, DateValue) and is_english(language) else ():
        with suppress(CompanionError):
            yield parse_typed(spec, written, today, language)


def _tags(words: Sequence[str], spec: TagValue) -> Iterator[Value]:
    """Tags said as a number: `twenty seven` for the digits two and seven."""
    for number, unit in figures(words):
        if not unit and len(plain(number)) == spec.digits:
            yield Value(type="tag", text=plain(number))


def corrected(said: str, spec: NumberValue, language: str = "en-US") -> bool:
    """Whether another figure stands in the words besides, be it one that cannot be: it may be what was meant."""
    found = figures(words_of(said, language).split())
    return len({number for number, unit in found if not unit or _same(unit, spec.unit)}) > 1


def _numbers(words: Sequence[str], spec: NumberValue) -> Iterator[Value]:
    for number, unit in figures(words):
        fits = spec.takes(number) and (spec.among or not (number - spec.least) % spec.by)
        if fits and (not unit or _same(unit, spec.unit)):
            yield Value(type="number", text=plain(number), unit=spec.unit)


def figures(words: Sequence[str]) -> Iterator[tuple[Decimal, str]]:
    """Every number among words, with the unit that follows it as it is said, or nothing.

    A stretch of number words that is not surely one number is none at all.
    """
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and (is_number_word(words[end]) or (end > at and words[end] in _INSIDE)):
            end += 1
        if end == at:
            at += 1
            continue
        stretch = list(words[at:end])
        while stretch and stretch[-1] in ("and", "a", "point"):
            stretch.pop()
        while stretch and stretch[0] == "a" and len(stretch) > 1 and stretch[1] not in ("hundred", "thousand", "half"):
            stretch.pop(0)
        number = _number(" ".join(stretch))
        if number is not None:
            yield number, _unit_at(words, at + len(stretch))
        at = end


def _number(said: str) -> Decimal | None:
    if found := _HUNDREDS.fullmatch(said):
        return 100 * parse_number(found[1]) + parse_number(found[2])
    try:
        return None if said in ("", "a", "one") and said != "one" else parse_number(said)
    except CompanionError:
        return None


def _unit_at(words: Sequence[str], at: int) -> str:
    """The unit in words from a place on, the longest that is one."""
    for start in (at, at + 1) if words[at : at + 1] in (["of"], ["a"]) else (at,):
        for end in range(min(len(words), start + 4), start, -1):
            said = " ".join(words[start:end])
            if said in _OTHER_WORDS:
                return _OTHER_WORDS[said]
            parts = said.split(" per ")
            if all(is_unit(part) and len(part) > 1 for part in parts):
                return said
    return ""


def _same(said: str, wanted: str) -> bool:
    """Whether a unit as said is the one asked for, be it named short (`units` for `units/mL`)."""
    try:
        told, asked = parse_unit(said), parse_unit(wanted)
    except CompanionError:
        return unit_name(wanted).many == said
    return told == asked or (len(asked.names) > 1 and told.names == asked.names[:1])
