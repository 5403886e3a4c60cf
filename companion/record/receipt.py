"""The receipt: a short code from the head of a closed record, kept by someone else.

Sixteen characters in four groups: fifteen carry 75 bits of the head's SHA-256, the last is a check character, so
that a slip in typing is told apart from a changed record. The alphabet is Crockford's base 32, without I, L, O, U
(Douglas Crockford, "Base 32"; from memory); the check is the Luhn algorithm, modulo 32 where ISO/IEC 7812-1 has 10
(from memory).
"""

import re

from companion.errors import UsageError
from companion.speech.language import spelling_of, spellings

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LENGTH = 16
_WRITTEN = {word: char for words in spellings() for char, word in zip(ALPHABET, words, strict=True)} | {
    **{"alpha": "A", "juliet": "J", "xray": "X", "whisky": "W", "oscar": "0", "india": "1", "lima": "1"},
    **{"oh": "0", "niner": "9", "tree": "3", "fower": "4", "fife": "5"},
}
"""What each word of a code that was listened to stands for, with other spellings and the figures of Annex 10."""


def receipt_of(head: str) -> str:
    """The code for a head (64 hex digits), such as `7Q4K-0XMA-...`."""
    bits = int(head, 16) >> (256 - 75)
    code = "".join(ALPHABET[bits >> shift & 31] for shift in range(70, -1, -5))
    code += ALPHABET[-_luhn(code, 1) % 32]
    return "-".join(code[i : i + 4] for i in range(0, _LENGTH, 4))


def read_receipt(typed: str) -> str:
    """A code as someone typed it, in its one written form: with or without separators, or in the words it was spoken
    in. Raises UsageError when it cannot be a receipt code."""
    words = re.sub(r"x[\s-]+ray", "xray", typed.lower()).replace(",", " ").replace("-", " ").split()
    if words and all(word in _WRITTEN for word in words):
        code = "".join(_WRITTEN[word] for word in words)
    else:
        code = re.sub(r"[\s,.-]", "", typed.upper()).translate(str.maketrans("OIL", "011"))
    if len(code) != _LENGTH or any(c not in ALPHABET for c in code):
        raise UsageError(
            f"receipt {typed!r}: 16 letters and figures are accepted, in groups or not, or their spoken words"
        )
    if _luhn(code, 0) % 32:
        raise UsageError(f"receipt {typed!r}: mistyped, its last character does not fit the others; read it again")
    return "-".join(code[i : i + 4] for i in range(0, _LENGTH, 4))


def spoken_receipt(code: str, language: str = "en-US") -> str:
    """The words to say for a code: letters by the spelling alphabet, a comma between groups."""
    said = dict(zip(ALPHABET, spelling_of(language), strict=True))
    return ", ".join(" ".join(said[c] for c in group) for group in code.split("-"))


def _luhn(code: str, first_from_right: int) -> int:
    """Luhn's sum modulo 32: from the right, every second character counts double, its two digits added."""
    total = 0
    for place, char in enumerate(reversed(code), start=first_from_right):
        value = ALPHABET.index(char) * (2 if place % 2 else 1)
        total += value // 32 + value % 32
    return total
