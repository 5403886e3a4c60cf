"""What the program says by itself, and the phrases that are its own: a package a language, a file a subject in it, with
the same keys in each. Whatever a language leaves open is English."""

from collections.abc import Mapping

from companion.speech.language import en, ko
from companion.speech.language.asides import Asides
from companion.speech.language.controls import Control
from companion.speech.language.one import Language

_ENGLISH = en.LANGUAGE
_KNOWN = {"en": _ENGLISH, "ko": ko.LANGUAGE}


def tell(language: str, key: str, **fields: object) -> str:
    """A sentence in the language of a BCP 47 tag, with its fields filled in."""
    own = _of(language).sentences
    return (own[key] if key in own else _ENGLISH.sentences[key]).format(**fields)


def control_phrases(language: str) -> Mapping[Control, tuple[str, ...]]:
    """How each control is said, the phrase that is offered first; each that the language has none for in English."""
    return {**_ENGLISH.controls, **_of(language).controls}


def digits_of(language: str) -> tuple[tuple[str, ...], ...] | None:
    """How each digit is said by itself; None where English has to do, which has words for runs (`digit_runs`)."""
    return _of(language).digits


def spelling_of(language: str) -> tuple[str, ...]:
    """What the 32 figures and letters of a code are said as, in the order of their worth."""
    return _of(language).spelling or en.SPELLING


def spellings() -> tuple[tuple[str, ...], ...]:
    """The same in every language there is, for what somebody has written down by ear."""
    return tuple(each.spelling for each in _KNOWN.values() if each.spelling is not None)


def asides_of(language: str) -> Asides:
    """What is said to the program in a rehearsal."""
    return _of(language).asides or en.ASIDES


def seconds_to_say(text: str, language: str) -> float:
    """How long a slow voice takes."""
    return len(text.split()) / (_of(language).words_per_s or en.WORDS_PER_S)


def _of(language: str) -> Language:
    return _KNOWN.get(language.split("-", maxsplit=1)[0].lower(), _ENGLISH)
