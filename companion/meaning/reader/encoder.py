"""The language model on NumPy: pieces of words in, what each means in its place out.

The model is the published all-MiniLM-L6-v2, a BERT of six layers, 384 wide (Devlin et al. 2019, Wang et al. 2020). What
it was taught for this job is a small addition to some of its matrices (Hu et al. 2021), added once when it is opened.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from companion.errors import ModelError

Floats = npt.NDArray[np.float32]

LAYERS, WIDTH, HEADS = 6, 384, 12
MOST_PIECES = 512
_HEAD_WIDTH = WIDTH // HEADS
_TINY = 1e-12
TAKEN_AFTER = (3, 6)
"""Layers whose output is used: the earlier one is nearer to the words, the later one to the meaning."""


@dataclass(frozen=True)
class _Linear:
    """`x @ weight + bias`; the weight is (inputs, outputs)."""

    weight: Floats
    bias: Floats

    def __call__(self, rows: Floats) -> Floats:
        return rows @ self.weight + self.bias


@dataclass(frozen=True)
class _Norm:
    weight: Floats
    bias: Floats

    def __call__(self, rows: Floats) -> Floats:
        return normal(rows) * self.weight + self.bias


@dataclass(frozen=True)
class _Layer:
    query: _Linear
    key: _Linear
    value: _Linear
    joined: _Linear
    after_attention: _Norm
    up: _Linear
    down: _Linear
    after: _Norm


def normal(rows: Floats) -> Floats:
    """Each row with mean 0 and variance 1."""
    centred = rows - rows.mean(axis=-1, keepdims=True)
    scaled: Floats = centred / np.sqrt((centred * centred).mean(axis=-1, keepdims=True) + _TINY)
    return scaled


class Encoder:
    """Opened once, used for any number of texts."""

    def __init__(self, weights: Mapping[str, Floats], additions: Mapping[str, Floats]) -> None:
        """`additions` holds `NAME.a` (rank, inputs) and `NAME.b` (outputs, rank) for a matrix NAME: b a is added to it.

        Raises KeyError where a weight is missing.
        """

        def linear(name: str) -> _Linear:
            weight = weights[f"{name}.weight"]
            if f"{name}.a" in additions:
                weight = weight + additions[f"{name}.b"] @ additions[f"{name}.a"]
            return _Linear(np.ascontiguousarray(weight.T), weights[f"{name}.bias"])

        def norm(name: str) -> _Norm:
            return _Norm(weights[f"{name}.weight"], weights[f"{name}.bias"])

        self._words = weights["embeddings.word_embeddings.weight"]
        kind = weights["embeddings.token_type_embeddings.weight"][0]
        self._places = weights["embeddings.position_embeddings.weight"] + kind
        self._first = norm("embeddings.LayerNorm")
        self._layers = [
            _Layer(
                linear(f"{at}.attention.self.query"),
                linear(f"{at}.attention.self.key"),
                linear(f"{at}.attention.self.value"),
                linear(f"{at}.attention.output.dense"),
                norm(f"{at}.attention.output.LayerNorm"),
                linear(f"{at}.intermediate.dense"),
                linear(f"{at}.output.dense"),
                norm(f"{at}.output.LayerNorm"),
            )
            for at in (f"encoder.layer.{n}" for n in range(LAYERS))
        ]

    def states(self, pieces: Sequence[int]) -> Floats:
        """Shape (pieces, 768): after each of `TAKEN_AFTER`, normalised and side by side. At most `MOST_PIECES`."""
        rows = self._first(self._words[list(pieces)] + self._places[: len(pieces)])
        kept = []
        for number, layer in enumerate(self._layers, start=1):
            rows = layer.after_attention(rows + layer.joined(_attention(layer, rows)))
            rows = layer.after(rows + layer.down(_gelu(layer.up(rows))))
            if number in TAKEN_AFTER:
                kept.append(normal(rows))
        joined: Floats = np.concatenate(kept, axis=1)
        return joined


def _attention(layer: _Layer, rows: Floats) -> Floats:
    def heads(of: _Linear) -> Floats:
        return of(rows).reshape(-1, HEADS, _HEAD_WIDTH).transpose(1, 0, 2)

    scores = heads(layer.query) @ heads(layer.key).transpose(0, 2, 1) / np.float32(_HEAD_WIDTH**0.5)
    shares = np.exp(scores - scores.max(axis=-1, keepdims=True))
    shares /= shares.sum(axis=-1, keepdims=True)
    mixed: Floats = (shares @ heads(layer.value)).transpose(1, 0, 2).reshape(-1, WIDTH)
    return mixed


def _gelu(rows: Floats) -> Floats:
    """By tanh (Hendrycks and Gimpel 2016): within 0.0005 of the exact one, and a good deal faster."""
    inner = np.float32(0.7978846) * rows * (1 + np.float32(0.044715) * rows * rows)
    bent: Floats = np.float32(0.5) * rows * (1 + np.tanh(inner))
    return bent


def read_weights(path: Path) -> Mapping[str, Floats]:
    """All arrays of a safetensors file. Raises ModelError for a file that is none."""
    from safetensors import SafetensorError
    from safetensors.numpy import load_file

    try:
        found: Mapping[str, Any] = load_file(path)
    except (OSError, SafetensorError) as error:
        raise ModelError(f"{path}: cannot be read as weights: {error}") from error
    return {name: np.asarray(array, dtype=np.float32) for name, array in found.items() if array.dtype.kind == "f"}
