"""What the program says by itself: a package a language, a file a subject in it, with the same keys in each. A language
without one says it in English."""

from companion.speech.language import en, ko
from companion.speech.language.asides import Asides

_ENGLISH = en.SENTENCES | en.ENGLISH_ONLY
_KNOWN = {"en": _ENGLISH, "ko": en.ENGLISH_ONLY | ko.SENTENCES}
_ASIDES = {"en": en.ASIDES, "ko": ko.ASIDES}
_SPELLINGS = {"en": en.SPELLING, "ko": ko.SPELLING}
_PACES = {"en": en.WORDS_PER_S, "ko": ko.WORDS_PER_S}


def tell(language: str, key: str, **fields: object) -> str:
    """A sentence in the language of a BCP 47 tag, with its fields filled in."""
    return _KNOWN.get(_base(language), _ENGLISH)[key].format(**fields)


def digits_of(language: str) -> tuple[tuple[str, ...], ...] | None:
    """How each digit is said by itself in another language than English; None where nobody has told us."""
    return ko.DIGITS if _base(language) == "ko" else None


def spelling_of(language: str) -> tuple[str, ...]:
    """What the 32 figures and letters of a code are said as, in the order of their worth."""
    return _SPELLINGS.get(_base(language), en.SPELLING)


def spellings() -> tuple[tuple[str, ...], ...]:
    """The same in every language there is, for what somebody has written down by ear."""
    return tuple(_SPELLINGS.values())


def asides_of(language: str) -> Asides:
    """What is said to the program in a rehearsal."""
    return _ASIDES.get(_base(language), en.ASIDES)


def seconds_to_say(text: str, language: str) -> float:
    """How long a slow voice takes."""
    return len(text.split()) / _PACES.get(_base(language), en.WORDS_PER_S)


def _base(language: str) -> str:
    return language.split("-", maxsplit=1)[0].lower()
