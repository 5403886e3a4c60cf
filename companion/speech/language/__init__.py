"""What the program says by itself: one file a language, with the same keys in each. A language without one says it in
English."""

from companion.speech.language import en, ko

_ENGLISH = en.SENTENCES | en.ENGLISH_ONLY
_KNOWN = {"en": _ENGLISH, "ko": ko.SENTENCES}


def tell(language: str, key: str, **fields: object) -> str:
    """A sentence in the language of a BCP 47 tag, with its fields filled in."""
    return _KNOWN.get(language.split("-", maxsplit=1)[0].lower(), _ENGLISH)[key].format(**fields)


def digits_of(language: str) -> tuple[tuple[str, ...], ...] | None:
    """How each digit is said by itself in another language than English; None where nobody has told us."""
    return ko.DIGITS if language.split("-", maxsplit=1)[0].lower() == "ko" else None
