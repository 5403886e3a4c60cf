"""Text to the pieces of words that the language model knows (WordPiece, Wu et al. 2016, as BERT uses it).

The library that does this for any model brings a client of a model hub with it, which a program that runs offline has
no use for; the tests compare every piece with that library's.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from companion.errors import ModelError

BEGIN, PART, UNKNOWN = "[CLS]", "[SEP]", "[UNK]"
_LONGEST = 100
"""Letters; a longer word is unknown."""


@dataclass(frozen=True)
class Piece:
    """A part of a word. `start` is its place in the text."""

    number: int
    start: int


@dataclass(frozen=True)
class Pieces:
    """The vocabulary: one piece a line, its number the line's; `##` begins what continues a word."""

    known: dict[str, int]

    @classmethod
    def load(cls, path: Path) -> "Pieces":
        """Raises ModelError for a file that is no vocabulary."""
        try:
            known = {line: n for n, line in enumerate(path.read_text(encoding="utf-8").split("\n"))}
        except OSError as error:
            raise ModelError(f"{path}: the vocabulary cannot be read: {error.strerror}") from error
        except UnicodeDecodeError as error:
            raise ModelError(f"{path}: the vocabulary is not written in UTF-8") from error
        missing = [name for name in (BEGIN, PART, UNKNOWN) if name not in known]
        if missing:
            raise ModelError(f"{path}: is no vocabulary of the language model: {missing[0]} is not in it")
        return cls(known)

    @cached_property
    def begin(self) -> int:
        return self.known[BEGIN]

    @cached_property
    def unknown(self) -> int:
        return self.known[UNKNOWN]

    @cached_property
    def part(self) -> int:
        return self.known[PART]

    def of(self, text: str) -> list[Piece]:
        """In the order of the text; upper and lower case and accents make no difference."""
        return [piece for word in _words(text) for piece in self._split(word)]

    def _split(self, word: list[tuple[str, int]]) -> list[Piece]:
        letters = "".join(letter for letter, _ in word)
        begin, found = 0, []
        while begin < len(letters):
            end = len(letters) if len(letters) <= _LONGEST else begin
            while end > begin and ("##" if begin else "") + letters[begin:end] not in self.known:
                end -= 1
            if end == begin:
                return [Piece(self.unknown, word[0][1])]
            found.append(Piece(self.known[("##" if begin else "") + letters[begin:end]], word[begin][1]))
            begin = end
        return found


def _words(text: str) -> Iterator[list[tuple[str, int]]]:
    """Letters with their places: words, and each mark of punctuation by itself."""
    word: list[tuple[str, int]] = []
    for place, letter in enumerate(text):
        if _nothing(letter):
            continue
        if letter.isspace() or _alone(letter):
            if word:
                yield word
                word = []
            if _alone(letter):
                yield [(plain, place) for plain in letter.lower()]
        else:
            plain = unicodedata.normalize("NFD", letter.lower())
            word += [(each, place) for each in plain if unicodedata.category(each) != "Mn"]
    if word:
        yield word


def _nothing(letter: str) -> bool:
    """Letters that are no text: control characters but tabs and ends of lines, and the sign of undecodable bytes."""
    return letter == "\ufffd" or (unicodedata.category(letter).startswith("C") and letter not in "\t\n\r")


def _alone(letter: str) -> bool:
    code = ord(letter)
    ascii_mark = 33 <= code <= 47 or 58 <= code <= 64 or 91 <= code <= 96 or 123 <= code <= 126
    return ascii_mark or unicodedata.category(letter).startswith("P") or 0x4E00 <= code <= 0x9FFF
