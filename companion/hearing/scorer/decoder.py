"""The decoder, run on a tree of token sequences: many branches in one pass, shared beginnings once.

Layer by layer this is the published Moonshine decoder (arXiv 2410.15608; 8 layers, width 416, 8 heads, rotary
positions on 32 of 52 dimensions, gated SiLU); the tests hold it against ONNX Runtime running the published file.
"""

from collections.abc import Sequence
from contextlib import AbstractContextManager
from functools import cache

import numpy as np
import numpy.typing as npt
from threadpoolctl import ThreadpoolController

from companion.hearing.scorer.weights import HEAD_WIDTH, HEADS, LAYERS, WIDTH, DecoderWeights, Floats

START = 1
END = 2

_ROTARY = 32
_SCALE = HEAD_WIDTH**-0.5
_HIDDEN = -1e9


def one_thread() -> AbstractContextManager[object]:
    """Keeps BLAS to one thread: the passes are small, and a second thread that waits for a busy core costs seconds."""
    limits: AbstractContextManager[object] = _controller().limit(limits=1, user_api="blas")
    return limits


@cache
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


class TokenTree:
    """The tokens scored so far on one utterance. Node 0 is the start; every other node hangs from a parent."""

    def __init__(self, weights: DecoderWeights, encoded: Floats) -> None:
        """`encoded` is the encoder's output, shape (frames, 416)."""
        self._weights = weights
        frames = encoded.shape[0]
        with one_thread():
            both = (encoded @ weights.cross_kv).reshape(frames, LAYERS, 2, HEADS, HEAD_WIDTH)
        self._cross_k = np.ascontiguousarray(both[:, :, 0].transpose(1, 2, 3, 0)) * np.float32(_SCALE)
        self._cross_v = np.ascontiguousarray(both[:, :, 1].transpose(1, 2, 0, 3))
        self._keys: Floats = np.empty((LAYERS, HEADS, 0, HEAD_WIDTH), np.float32)
        self._values = self._keys
        self._sees: npt.NDArray[np.bool_] = np.zeros((0, 0), bool)
        self._depth: npt.NDArray[np.int64] = np.zeros(0, np.int64)

    def __len__(self) -> int:
        return len(self._depth)

    def grow(self, tokens: Sequence[int], parents: Sequence[int]) -> Floats:
        """Add nodes; a parent is the number of an older node or of one before it in this call, -1 for the start.

        Returns the logarithms of the chances of each next token, shape (len(tokens), 32768).
        """
        with one_thread():
            return self._grow(tokens, parents)

    def _grow(self, tokens: Sequence[int], parents: Sequence[int]) -> Floats:
        old, new = len(self), len(tokens)
        depth = np.zeros(old + new, np.int64)
        depth[:old] = self._depth
        sees = np.zeros((old + new, old + new), bool)
        sees[:old, :old] = self._sees
        for row, parent in enumerate(parents, start=old):
            if parent >= 0:
                sees[row] = sees[parent]
                depth[row] = depth[parent] + 1
            sees[row, row] = True
        hidden = np.where(sees[old:], np.float32(0), np.float32(_HIDDEN))
        cos, sin = self._rotation(depth[old:])
        keys = np.empty((LAYERS, HEADS, old + new, HEAD_WIDTH), np.float32)
        values = np.empty_like(keys)
        keys[:, :, :old], values[:, :, :old] = self._keys, self._values
        x = self._weights.embedding[np.asarray(tokens)]
        for n, layer in enumerate(self._weights.layers):
            qkv = (_norm(x, layer.self_norm) @ layer.qkv).reshape(new, 3, HEADS, HEAD_WIDTH)
            query = _rotated(qkv[:, 0], cos, sin).transpose(1, 0, 2) * np.float32(_SCALE)
            keys[n, :, old:] = _rotated(qkv[:, 1], cos, sin).transpose(1, 0, 2)
            values[n, :, old:] = qkv[:, 2].transpose(1, 0, 2)
            weights = _softmax(query @ keys[n].transpose(0, 2, 1) + hidden)
            x = x + _joined(weights @ values[n]) @ layer.self_out
            query = (_norm(x, layer.cross_norm) @ layer.cross_q).reshape(new, HEADS, HEAD_WIDTH).transpose(1, 0, 2)
            weights = _softmax(query @ self._cross_k[n])
            x = x + _joined(weights @ self._cross_v[n]) @ layer.cross_out
            up = _norm(x, layer.mlp_norm) @ layer.up + layer.up_bias
            gate = up[:, up.shape[1] // 2 :]
            x = x + (up[:, : up.shape[1] // 2] * (gate / (1 + np.exp(-gate)))) @ layer.down + layer.down_bias
        self._keys, self._values, self._sees, self._depth = keys, values, sees, depth
        return _log_softmax(_norm(x, self._weights.final_norm) @ self._weights.embedding.T)

    def _rotation(self, depth: npt.NDArray[np.int64]) -> tuple[Floats, Floats]:
        angles = depth[:, None].astype(np.float32) * self._weights.inv_freq[None, :]
        return np.cos(angles)[:, None, :], np.sin(angles)[:, None, :]


def _rotated(x: Floats, cos: Floats, sin: Floats) -> Floats:
    """Rotary positions on the first 32 dimensions, taken in neighbouring pairs. `x` is (nodes, heads, 52)."""
    out = x.copy()
    even, odd = x[..., 0:_ROTARY:2], x[..., 1:_ROTARY:2]
    out[..., 0:_ROTARY:2] = even * cos - odd * sin
    out[..., 1:_ROTARY:2] = odd * cos + even * sin
    return out


def _joined(x: Floats) -> Floats:
    return np.ascontiguousarray(x.transpose(1, 0, 2)).reshape(-1, WIDTH)


def _norm(x: Floats, weight: Floats) -> Floats:
    x = x - x.mean(axis=-1, keepdims=True)
    normed: Floats = x / np.sqrt((x * x).mean(axis=-1, keepdims=True) + np.float32(1e-5)) * weight
    return normed


def _softmax(x: Floats) -> Floats:
    x -= x.max(axis=-1, keepdims=True)
    np.exp(x, out=x)
    x /= x.sum(axis=-1, keepdims=True)
    return x


def _log_softmax(x: Floats) -> Floats:
    x -= x.max(axis=-1, keepdims=True)
    x -= np.log(np.exp(x).sum(axis=-1, keepdims=True))
    return x
