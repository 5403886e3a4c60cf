"""Finds the reader for a procedure: its language model, if fetched, and what the model was taught of the procedure.

What it was taught lies beside this file: additions to the model, and for each procedure what its steps look like. It
was taught by `tests/bench/reader_teach.py` on the tuning transcripts in `tests/data/rehearsals`.
"""

from functools import cache
from hashlib import sha256
from pathlib import Path

from companion.errors import ModelError
from companion.meaning.likely import TalkReader
from companion.meaning.reader.encoder import Encoder, Floats, read_weights
from companion.meaning.reader.pieces import Pieces
from companion.meaning.reader.reader import Head, LearntReader
from companion.models.catalogue import find, installed
from companion.procedure.model import Procedure

MODEL = "reader"
"""Its id in the catalogue of models."""
WEIGHTS, VOCABULARY = "model.safetensors", "vocab.txt"
TAUGHT = Path(__file__).with_name("taught.safetensors")
NOT_HERE = f"to understand you in your own words better, fetch the model that reads: companion models fetch {MODEL}"


def taught(path: Path = TAUGHT) -> dict[str, tuple[str, ...]]:
    """The procedures that the reader knows, and the ids of their steps."""
    from safetensors import SafetensorError, safe_open

    try:
        with safe_open(path, framework="np") as file:
            told: dict[str, str] = file.metadata()
    except (OSError, SafetensorError) as error:
        raise ModelError(f"{path}: cannot be read: {error}; install the program again") from error
    return {name: tuple(steps.split()) for name, steps in told.items()}


def open_reader(procedure: Procedure, path: Path = TAUGHT) -> tuple[TalkReader | None, str]:
    """The reader, or None with what to run to have it: an empty text where no reader knows the procedure.

    `path` is what it was taught. Raises ModelError for a model that is there and is not what it should be.
    """
    known = taught(path)
    if procedure.id not in known or not procedure.language.lower().startswith("en"):
        return None, ""
    folder = installed(find(MODEL))
    if folder is None:
        return None, NOT_HERE
    encoder, pieces, heads, digest = _parts(folder, path)
    weight, bias = heads[procedure.id]
    # A step that came or went since it was taught is none of its business; the others it goes on reading.
    steps = {step.id for step in procedure.steps}
    both = [row for row, name in enumerate(known[procedure.id]) if name in steps]
    head = Head(tuple(known[procedure.id][row] for row in both), weight[both], bias[both])
    return LearntReader(f"all-MiniLM-L6-v2 taught {digest}", encoder, pieces, head), ""


AGAIN = f"fetch it again: companion models fetch {MODEL}"


@cache
def _parts(folder: Path, path: Path) -> tuple[Encoder, Pieces, dict[str, tuple[Floats, Floats]], str]:
    learnt = read_weights(path)
    additions = {name: array for name, array in learnt.items() if not name.startswith("head.")}
    heads = {name: (learnt[f"head.{name}.weight"], learnt[f"head.{name}.bias"]) for name in taught(path)}
    try:
        encoder = Encoder(read_weights(folder / WEIGHTS), additions)
        pieces = Pieces.load(folder / VOCABULARY)
    except ModelError as error:
        raise ModelError(f"{error}; {AGAIN}") from error
    except (KeyError, ValueError) as error:
        raise ModelError(f"{folder / WEIGHTS}: is not the model that reads ({error}); {AGAIN}") from error
    return encoder, pieces, heads, sha256(path.read_bytes()).hexdigest()[:8]
