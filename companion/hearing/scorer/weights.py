"""Read the decoder's weights out of an ONNX Runtime file.

The published decoder stores its weights in eight bits and, run as it is, turns all 42 million of them into floats
again at every token. Reading them once and keeping the floats makes a token five times cheaper (measured, see
tests/bench/hearing.py), and lets one pass score many branches at once.
"""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from companion.errors import ModelError

Floats = npt.NDArray[np.float32]

FETCH = "fetch it with `companion models fetch scorer`"
LAYERS = 8
WIDTH = 416
HEADS = 8
HEAD_WIDTH = WIDTH // HEADS

_WEIGHT = re.compile(r"/model/decoder/layers\.(\d+)/(\w+)/(\w+)/MatMul_output_0")
_TYPES: dict[int, Any] = {1: np.float32, 2: np.uint8, 3: np.int8, 7: np.int64}


@dataclass(frozen=True)
class LayerWeights:
    """One decoder layer. Matrices are (inputs, outputs), so that rows of activations multiply from the left."""

    self_norm: Floats
    qkv: Floats
    """Query, key and value of the self-attention side by side, shape (416, 1248)."""
    self_out: Floats
    cross_norm: Floats
    cross_q: Floats
    cross_out: Floats
    mlp_norm: Floats
    up: Floats
    """Value and gate side by side, shape (416, 3328)."""
    up_bias: Floats
    down: Floats
    down_bias: Floats


@dataclass(frozen=True)
class DecoderWeights:
    layers: tuple[LayerWeights, ...]
    cross_kv: Floats
    """Keys and values of the cross-attention side by side: keys of layer 0, values of layer 0, keys of layer 1..."""
    final_norm: Floats
    embedding: Floats
    """One row per token, shape (32768, 416); also the output matrix."""
    inv_freq: Floats
    """Rotary frequencies, shape (16,)."""


def read_decoder(path: Path) -> DecoderWeights:
    """The decoder's weights as 32-bit floats. Raises ModelError when the file is not the decoder that is meant."""
    try:
        return _read(path)
    except OSError as error:
        raise ModelError(f"{path}: cannot be read: {error.strerror}; {FETCH}") from error
    except (KeyError, ValueError, IndexError, AttributeError, TypeError) as error:
        raise ModelError(f"{path}: is not the decoder of the phrase scorer ({error}); {FETCH}") from error


def _read(path: Path) -> DecoderWeights:
    from onnxruntime.tools.ort_format_model.ort_flatbuffers_py.fbs.InferenceSession import InferenceSession

    graph = InferenceSession.GetRootAs(path.read_bytes(), 0).Model().Graph()
    stored = {t.Name().decode(): t for t in (graph.Initializers(i) for i in range(graph.InitializersLength()))}
    names = _matmul_weights(graph)

    def array(name: str) -> npt.NDArray[Any]:
        tensor = stored[name]
        shape = [tensor.Dims(i) for i in range(tensor.DimsLength())]
        whole: npt.NDArray[Any] = tensor.RawDataAsNumpy().view(_TYPES[tensor.DataType()]).reshape(shape)
        return whole

    def dequantised(name: str) -> Floats:
        base = name.removesuffix("_add_tensor")
        whole = array(f"{base}_quantized").astype(np.float32)
        whole *= array(f"{base}_scale")
        whole += array(f"{base}_zero_point")
        return whole

    def matrix(layer: int, block: str, part: str) -> Floats:
        return dequantised(names[layer, block, part])

    def vector(layer: int, name: str) -> Floats:
        return array(f"model.decoder.layers.{layer}.{name}_merged_0").astype(np.float32)

    layers = tuple(
        LayerWeights(
            self_norm=vector(n, "input_layernorm.weight"),
            qkv=np.concatenate([matrix(n, "self_attn", f"{p}_proj") for p in "qkv"], axis=1),
            self_out=matrix(n, "self_attn", "dense"),
            cross_norm=vector(n, "post_attention_layernorm.weight"),
            cross_q=matrix(n, "encoder_attn", "q_proj"),
            cross_out=matrix(n, "encoder_attn", "dense"),
            mlp_norm=vector(n, "final_layernorm.weight"),
            up=matrix(n, "mlp", "up_proj"),
            up_bias=vector(n, "mlp.up_proj.bias"),
            down=matrix(n, "mlp", "down_proj"),
            down_bias=vector(n, "mlp.down_proj.bias"),
        )
        for n in range(LAYERS)
    )
    return DecoderWeights(
        layers=layers,
        cross_kv=np.concatenate([matrix(n, "encoder_attn", f"{p}_proj") for n in range(LAYERS) for p in "kv"], axis=1),
        final_norm=array("model.decoder.norm.weight_merged_0").astype(np.float32),
        embedding=dequantised("model.decoder.embed_tokens.weight_merged_0_add_tensor"),
        inv_freq=array("/model/decoder/rotary_emb/Cast_1_output_0").astype(np.float32).reshape(-1),
    )


def _matmul_weights(graph: Any) -> dict[tuple[int, str, str], str]:
    """(layer, block, part) -> name of the weight: the file names weights by number, but outputs by their place."""
    found: dict[tuple[int, str, str], str] = {}
    switch = next((node for node in _nodes(graph) if node.OpType() == b"If"), None)
    if switch is None:
        raise ValueError("no branch for cached tokens in it")
    for branch in range(switch.AttributesLength()):
        for node in _nodes(switch.Attributes(branch).G()):
            match = _WEIGHT.fullmatch(node.Outputs(0).decode()) if node.OpType() == b"MatMul" else None
            if match:
                found[int(match[1]), match[2], match[3]] = node.Inputs(1).decode()
    return found


def _nodes(graph: Any) -> list[Any]:
    return [graph.Nodes(i) for i in range(graph.NodesLength())]
