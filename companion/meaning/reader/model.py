"""The reader of meanings: how likely it is that some words say a meaning, told the meaning in the procedure's own text.

A small language model (all-MiniLM-L6-v2, Wang et al. 2020) that reads both texts at once and was taught with replies to
procedures of all kinds (`tests/bench/reader_teach.py`); 8-bit weights on ONNX Runtime.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from companion.errors import HearingError, ModelError
from companion.meaning.reader.pieces import Pieces

WEIGHTS, VOCABULARY = "reader.onnx", "vocab.txt"
LONGEST = 128
"""Pieces of both texts, as in the teaching; the meaning's text is cut where they are more."""
_MOST_SAID = 96
_AT_ONCE = 32
"""Pairs that are read in one go."""


class ReaderModel:
    """Opened once, used for any number of texts. A `meaning.understood.MeaningReader`."""

    name = "reader"

    def __init__(self, folder: Path) -> None:
        """Raises ModelError for a folder that does not hold the model."""
        self._pieces = Pieces.load(folder / VOCABULARY)
        self._session = _session(folder / WEIGHTS)

    def odds(self, said: str, asked: Sequence[str]) -> list[float]:
        """For each text of `asked` (made by `meaning.question`) the logarithm of the odds that `said` says it."""
        words = [piece.number for piece in self._pieces.of(said)][:_MOST_SAID]
        rows = [self._row(text, words) for text in asked]
        found = [0.0] * len(rows)
        order = sorted(range(len(rows)), key=lambda n: len(rows[n][0]))
        for at in range(0, len(order), _AT_ONCE):
            part = order[at : at + _AT_ONCE]
            for n, value in zip(part, self._read([rows[n] for n in part]), strict=True):
                found[n] = value
        return found

    def _row(self, text: str, words: list[int]) -> tuple[list[int], list[int]]:
        """Numbers of the pieces, and to which of the two texts each belongs."""
        most = LONGEST - len(words) - 3
        told = [self._pieces.begin, *[piece.number for piece in self._pieces.of(text)][:most], self._pieces.part]
        return [*told, *words, self._pieces.part], [0] * len(told) + [1] * (len(words) + 1)

    def _read(self, rows: Sequence[tuple[list[int], list[int]]]) -> list[float]:
        longest = max(len(numbers) for numbers, _ in rows)
        shape = (len(rows), longest)
        numbers, kinds, there = (np.zeros(shape, np.int64) for _ in range(3))
        for n, (pieces, kind) in enumerate(rows):
            numbers[n, : len(pieces)], kinds[n, : len(pieces)], there[n, : len(pieces)] = pieces, kind, 1
        fed = {"input_ids": numbers, "attention_mask": there, "token_type_ids": kinds}
        return [float(value) for value in self._session.run(["odds"], fed)[0]]


def _session(path: Path) -> Any:
    try:
        import onnxruntime
    except ImportError as error:
        raise HearingError("the reader of meanings needs onnxruntime: pip install onnxruntime") from error
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 2
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    options.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:  # onnxruntime raises classes of its own that share no base but this
        raise ModelError(f"{path}: is not the reader of meanings ({str(error)[:120]})") from error
