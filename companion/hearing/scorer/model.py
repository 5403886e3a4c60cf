"""The phrase scorer's model: encoder on ONNX Runtime, decoder on NumPy, tokenizer."""

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from companion.errors import HearingError, ModelError
from companion.hearing.scorer.decoder import END, START, TokenTree
from companion.hearing.scorer.tokens import Tokenizer
from companion.hearing.scorer.weights import DecoderWeights, Floats, read_decoder

ENCODER, DECODER, TOKENIZER = "encoder_model.ort", "decoder_model_merged.ort", "tokenizer.bin"
FILES = (ENCODER, DECODER, TOKENIZER)
_TOKENS_PER_S = 6.5
"""The model's own bound on what can be said in a second (Moonshine's published code); it loops beyond."""


class ScorerModel:
    """Loaded once, used for any number of utterances. Raises ModelError for a folder that does not hold it."""

    def __init__(self, folder: Path) -> None:
        missing = [name for name in FILES if not (folder / name).is_file()]
        if missing:
            raise ModelError(
                f"{folder}: the phrase scorer is not complete ({', '.join(missing)} missing); "
                f"fetch it with `companion models fetch scorer`"
            )
        self.tokenizer = Tokenizer.load(folder / TOKENIZER)
        self._encoder = _session(folder / ENCODER)
        self.weights: DecoderWeights = read_decoder(folder / DECODER)

    def encode(self, sound: npt.NDArray[np.float32]) -> Floats:
        """The encoder's output for mono sound at 16 kHz: about 42 frames a second, shape (frames, 416)."""
        frames: Floats = self._encoder.run(None, {"input_values": sound[None]})[0][0]
        return frames

    def write(self, encoded: Floats, seconds: float) -> tuple[tuple[int, float], ...]:
        """What the model freely writes of encoded sound so long: each token and the logarithm of its chance, the end
        left out."""
        tree = TokenTree(self.weights, encoded)
        most = int(seconds * _TOKENS_PER_S) + 4
        written: list[tuple[int, float]] = []
        token = START
        for row in range(most):
            after = tree.grow([token], [row - 1])[0]
            token = int(after.argmax())
            if token == END:
                break
            written.append((token, float(after[token])))
        return tuple(written)


def _session(path: Path) -> Any:
    try:
        import onnxruntime
    except ImportError as error:
        raise HearingError("the phrase scorer needs onnxruntime: pip install onnxruntime") from error
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 2
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    options.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:  # onnxruntime raises classes of its own that share no base but this
        raise ModelError(
            f"{path}: is not the encoder of the phrase scorer ({str(error)[:120]}); "
            f"fetch it again with `companion models fetch scorer`"
        ) from error
