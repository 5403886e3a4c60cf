"""The encoder, against what the reference implementation made of the same weights.

Reference: `transformers` 5.24.0 with `torch` 2.13.0 (PyPI), BertModel on the published weights, run by us on
2026-11-27; outputs of layers 3 and 6, normalised: rows 0, 3 and the last, columns 0, 380, 500 and 764 with
the three after each.
"""

from pathlib import Path

import numpy as np
import pytest
from safetensors.numpy import save_file

from companion.errors import ModelError
from companion.meaning.reader.encoder import Encoder, Floats, read_weights
from companion.meaning.reader.fetched import WEIGHTS
from tests.meaning.reader_parts import model_folder

ROWS, COLUMNS = (0, 3, -1), (0, 380, 500, 764)
REFERENCE: dict[tuple[int, ...], list[list[float]]] = {
    # The stopper is wiped and dry.
    (101, 1996, 2644, 4842, 2003, 8342, 1998, 4318, 1012, 102): [
        [-0.0401, -0.0287, -0.0357, 0.0209],
        [-0.0022, -0.0491, -0.013, -0.2149],
        [0.4001, -0.2009, -0.416, -0.1372],
        [0.0519, -0.2288, -0.4432, 0.6294],
        [-0.9856, 0.957, 0.8189, -0.2812],
        [-1.977, 0.6484, 0.2134, 0.3258],
        [0.2313, 0.215, -0.3523, 0.7487],
        [-1.8255, -0.5692, -0.3027, 0.8015],
        [1.2494, 0.1991, -0.5091, 0.56],
        [-0.9689, -1.0958, 1.2136, 0.1379],
        [0.338, -0.2381, -0.9386, 0.2487],
        [-1.2622, -0.599, 0.2316, 1.2337],
    ],
    # Hang on, naïve me: eighteen units, not 80!
    (101, 6865, 2006, 1010, 15743, 2033, 1024, 7763, 3197, 1010, 2025, 3770, 999, 102): [
        [-0.0409, -0.0308, -0.034, 0.0195],
        [-0.0032, -0.0469, -0.0147, -0.2145],
        [-0.1555, 0.1479, -0.8299, 0.4895],
        [0.3605, -0.4814, -0.7978, -0.9479],
        [-1.0459, 0.6718, 0.0725, -0.0965],
        [0.2018, 0.1805, 0.9861, 1.5103],
        [-0.755, -0.1889, -0.8735, 0.2501],
        [0.5314, -0.7008, 0.177, 0.0262],
        [0.7513, -0.0789, 0.592, 0.764],
        [-0.3077, -0.442, 0.3531, 0.3749],
        [0.3823, -0.0054, -0.77, 0.8962],
        [0.2655, -0.8844, -0.4831, -0.6634],
    ],
}


def seen(states: Floats) -> Floats:
    return np.stack([states[row][column : column + 4] for row in ROWS for column in COLUMNS])


@pytest.mark.parametrize("pieces", REFERENCE)
def test_states_are_those_of_the_reference(pieces: tuple[int, ...]) -> None:
    found = Encoder(read_weights(model_folder() / WEIGHTS), {}).states(pieces)
    assert found.shape == (len(pieces), 768)
    assert np.abs(seen(found) - np.array(REFERENCE[pieces])).max() < 0.01


def test_an_addition_is_the_product_of_its_two_parts() -> None:
    weights = dict(read_weights(model_folder() / WEIGHTS))
    name = "encoder.layer.4.intermediate.dense"
    chance = np.random.default_rng(1)
    a = chance.normal(0, 0.05, (2, 384)).astype(np.float32)
    b = chance.normal(0, 0.05, (1536, 2)).astype(np.float32)
    pieces = next(iter(REFERENCE))
    plain = Encoder(weights, {}).states(pieces)
    added = Encoder(weights, {f"{name}.a": a, f"{name}.b": b}).states(pieces)
    weights[f"{name}.weight"] = weights[f"{name}.weight"] + b @ a
    assert np.allclose(added, Encoder(weights, {}).states(pieces), atol=1e-4)
    assert not np.allclose(added, plain, atol=1e-2)


def test_a_file_that_holds_no_weights(tmp_path: Path) -> None:
    path = tmp_path / "model.safetensors"
    with pytest.raises(ModelError, match=r"model\.safetensors: cannot be read as weights"):
        read_weights(path)
    path.write_bytes(b"not weights at all")
    with pytest.raises(ModelError, match=r"model\.safetensors: cannot be read as weights"):
        read_weights(path)
    save_file({"other": np.zeros(2, np.float32)}, path)
    with pytest.raises(KeyError):
        Encoder(read_weights(path), {})
