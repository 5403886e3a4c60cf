"""Text to tokens and back, as the phrase scorer's model writes them."""

from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from companion.errors import ModelError

SPACE = "▁"
"""Stands before every word in the vocabulary."""

_FIRST_BYTE, _LAST_BYTE = 3, 258
"""Tokens that stand for one raw byte each, for text that has no piece of its own."""


class Tokenizer:
    """Byte-pair encoding; of all pairs that may be joined, the one with the lowest number is joined first."""

    def __init__(self, pieces: Iterable[bytes]) -> None:
        self._pieces = list(pieces)
        self._numbers: dict[str, int] = {}
        for number, piece in enumerate(self._pieces):
            if number > _LAST_BYTE:
                self._numbers.setdefault(piece.decode("utf-8", "replace"), number)
        self.encode_piece = lru_cache(maxsize=20_000)(self._encode_piece)

    @classmethod
    def load(cls, path: Path) -> "Tokenizer":
        """Read `tokenizer.bin`: each piece is its length (one byte, or two above 127) and its bytes."""
        try:
            data = path.read_bytes()
        except OSError as error:
            raise ModelError(
                f"{path}: cannot be read: {error.strerror}; fetch it with `companion models fetch scorer`"
            ) from error
        pieces, at = [], 0
        while at < len(data):
            length = data[at]
            at += 1
            if length >= 128 and at < len(data):
                length = length - 128 + 128 * data[at]
                at += 1
            pieces.append(data[at : at + length])
            at += length
        if at != len(data) or len(pieces) <= _LAST_BYTE:
            raise ModelError(
                f"{path}: is not the scorer's tokenizer; fetch it again with `companion models fetch scorer`"
            )
        return cls(pieces)

    def _encode_piece(self, text: str) -> tuple[int, ...]:
        """Tokens of one word; write a leading space as `SPACE`."""
        parts = list(text)
        while True:
            joins = [
                (number, i)
                for i in range(len(parts) - 1)
                if (number := self._numbers.get(parts[i] + parts[i + 1])) is not None
            ]
            if not joins:
                break
            _, i = min(joins)
            parts[i : i + 2] = [parts[i] + parts[i + 1]]
        tokens: list[int] = []
        for part in parts:
            number = self._numbers.get(part)
            tokens += [number] if number is not None else [_FIRST_BYTE + byte for byte in part.encode()]
        return tuple(tokens)

    def encode(self, text: str) -> tuple[int, ...]:
        """Tokens of words parted by single spaces."""
        return tuple(token for word in text.split(" ") for token in self.encode_piece(SPACE + word))

    def begins_word(self, token: int) -> bool:
        """True for a token with a space before it."""
        return token > _LAST_BYTE and self._pieces[token].startswith(SPACE.encode())

    def decode(self, tokens: Iterable[int]) -> str:
        """The text of tokens; the start and end tokens vanish."""
        raw = b""
        for token in tokens:
            if _FIRST_BYTE <= token <= _LAST_BYTE:
                raw += bytes([token - _FIRST_BYTE])
            elif token > _LAST_BYTE:
                raw += self._pieces[token]
        return raw.decode("utf-8", "replace").replace(SPACE, " ").strip()
