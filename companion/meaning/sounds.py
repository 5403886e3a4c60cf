"""Words that a dictation writes for others that sound the same: the trade's words are rare in everyday text."""

from collections.abc import Mapping

from companion.meaning.ideas import Ideas
from companion.meaning.words import stem, words

_HOMOPHONES: Mapping[str, str] = {
    "vile": "vial",
    "file": "vial",
    "viles": "vial",
    "files": "vial",
    "phial": "vial",
    "gause": "gauze",
    "gores": "gauze",
    "swap": "swab",
    "swapped": "swab",
    "serenge": "syringe",
    "searing": "syringe",
    "bong": "bung",
    "lancer": "lancet",
    "jelling": "gel",
    "jelled": "gel",
    "gell": "gel",
    "jell": "gel",
}
"""Everyday words on the left, the trade's on the right (our own list, from memory; not measured)."""


def meant(text: str, ideas: Ideas) -> dict[str, str]:
    """For the words of `text` that stand for another one of the procedure's: the stem of that one."""
    known = {
        key for ways in ideas.ways.values() for way in ways for group in way.groups for each in group for key in each
    }
    found = {}
    for word in words(text):
        other = _HOMOPHONES.get(word.text)
        if other is not None and stem(other) in known and word.stem not in known:
            found[word.text] = stem(other)
    return found
