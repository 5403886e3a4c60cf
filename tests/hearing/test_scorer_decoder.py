"""The decoder on NumPy against the published decoder on ONNX Runtime, on a human recording."""

import numpy as np
import pytest

from companion.errors import ModelError
from companion.hearing.files import read_sound
from companion.hearing.scorer.decoder import START, TokenTree
from companion.hearing.scorer.model import DECODER
from companion.hearing.scorer.weights import LAYERS, Floats, read_decoder
from tests.hearing.scorer_parts import CARDS, need_human_sound, scorer_folder, scorer_model

TOKENS = (12444, 310, 17184, 1960, 29889)
"""`Ten of cloves.`, which is what the model freely writes for card command 001."""


@pytest.fixture(scope="module")
def encoded() -> Floats:
    need_human_sound()
    sound = read_sound(CARDS / "001.wav").astype(np.float32) / np.float32(32768)
    return scorer_model().encode(np.asarray(sound, np.float32))


def published(encoded: Floats, tokens: tuple[int, ...]) -> Floats:
    """Log chances after each of `tokens` by the published file itself."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.log_severity_level = 3
    session = onnxruntime.InferenceSession(str(scorer_folder() / DECODER), options)
    inputs = {
        f"past_key_values.{n}.{side}.{part}": np.zeros((1, 8, 0, 52), np.float32)
        for n in range(LAYERS)
        for side in ("decoder", "encoder")
        for part in ("key", "value")
    }
    inputs |= {
        "input_ids": np.array([tokens]),
        "encoder_hidden_states": encoded[None],
        "use_cache_branch": np.array([False]),
    }
    logits = session.run(["logits"], inputs)[0][0].astype(np.float64)
    logits -= logits.max(axis=1, keepdims=True)
    return np.asarray(logits - np.log(np.exp(logits).sum(axis=1, keepdims=True)), np.float32)


def test_same_chances_as_the_published_decoder(encoded: Floats) -> None:
    tree = TokenTree(scorer_model().weights, encoded)
    ours = tree.grow((START, *TOKENS), (-1, 0, 1, 2, 3, 4))
    theirs = published(encoded, (START, *TOKENS))
    assert np.abs(ours - theirs).max() < 0.01
    assert (ours.argmax(axis=1) == theirs.argmax(axis=1)).all()


def test_a_branch_does_not_see_its_neighbour(encoded: Floats) -> None:
    other = (9000, 20, 6000)
    tree = TokenTree(scorer_model().weights, encoded)
    tree.grow((START,), (-1,))
    tree.grow((TOKENS[0], other[0]), (0, 0))
    ends = tree.grow((TOKENS[1], other[1], other[2]), (1, 2, 4))
    assert np.abs(ends[0] - published(encoded, (START, *TOKENS[:2]))[-1]).max() < 0.01
    assert np.abs(ends[2] - published(encoded, (START, *other))[-1]).max() < 0.01


def test_another_file_is_refused() -> None:
    encoder = scorer_folder() / "encoder_model.ort"
    with pytest.raises(ModelError, match="is not the decoder of the phrase scorer"):
        read_decoder(encoder)
