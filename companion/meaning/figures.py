"""Values named inside a sentence: which of those that may be meant here its words hold, none of them guessed."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date

from companion.errors import CompanionError
from companion.meaning.typed import parse_typed
from companion.speech.calendar_words import named_dates
from companion.speech.numbers import plain
from companion.speech.running import figures
from companion.speech.speakable import is_english, words_of
from companion.speech.units import parse_unit
from companion.speech.value_phrases import phrases_for
from companion.speech.values import DateValue, NumberValue, TagValue, Value, ValueSpec


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


def _same(said: str, wanted: str) -> bool:
    """Whether a unit as said is the one asked for, be it named short (`units` for `units/mL`)."""
    told, asked = parse_unit(said), parse_unit(wanted)
    return told == asked or (len(asked.names) > 1 and told.names == asked.names[:1])
