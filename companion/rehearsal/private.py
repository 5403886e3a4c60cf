"""Free talk is kept only where it names nobody."""

from datetime import date

from companion.core.talk.words import words
from companion.record.privacy import held_back

_ABOUT = ("date of birth", "birth date", "birthday", "dob", "born")


def may_be_kept(text: str, today: date) -> str:
    """`text`, or a note in its place where it may name a person.

    Talk of asking for the date of birth is no date of birth: that takes a figure in the same utterance.
    """
    plain = text
    if not any(word.number for word in words(text)):
        for phrase in _ABOUT:
            plain = plain.replace(phrase, "details").replace(phrase.capitalize(), "Details")
    kept = held_back(plain, today)
    return text if kept == plain else kept
