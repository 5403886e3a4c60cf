"""What reading costs: `python -m tests.bench.reading`, with the model of `companion models fetch reader`.

Opening it, a whole talk at once, and one more utterance at its end, which is what a student waits for; and the most
memory. The baseline is the matrix products alone that one stretch of the talk takes, in the same run.
"""

import resource
import statistics
import time
from collections.abc import Callable

import numpy as np

from companion.meaning.reader.encoder import LAYERS, WIDTH
from companion.meaning.reader.fetched import open_reader
from companion.meaning.reader.reader import STRETCH
from tests.rehearsals import FOLDER, TUNING, procedure, transcripts

TALKS = 9


def took(what: Callable[[], object]) -> float:
    began = time.perf_counter()
    what()
    return time.perf_counter() - began


def products() -> None:
    """Four square ones, one up and one down, in each layer."""
    rows = np.ones((STRETCH, WIDTH), np.float32)
    square, up = np.ones((WIDTH, WIDTH), np.float32), np.ones((WIDTH, 4 * WIDTH), np.float32)
    for _ in range(LAYERS):
        for _ in range(4):
            _ = rows @ square
        _ = (rows @ up) @ up.T


def main() -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    opened = took(lambda: open_reader(procedure("subcutaneous-insulin")))
    products()
    base = statistics.median(took(products) for _ in range(20))
    whole, more = [], []
    for talk in list(transcripts(FOLDER / TUNING[0]))[:TALKS]:
        texts = [said.text for said in talk.said]
        reader, missing = open_reader(procedure(talk.procedure))
        if reader is None:
            raise SystemExit(missing)
        whole.append(took(lambda reader=reader, texts=texts: reader.read(texts[:-1])))  # type: ignore[misc]
        more.append(took(lambda reader=reader, texts=texts: reader.read(texts)))  # type: ignore[misc]
    rows = (
        ("the matrix products of one stretch", [base]),
        ("opening", [opened]),
        ("a whole talk", whole),
        ("one more utterance", more),
    )
    print(f"{'':36} {'median s':>9} {'worst s':>9} {'ratio':>7}")
    for name, times in rows:
        middle = statistics.median(times)
        print(f"{name:36} {middle:9.3f} {max(times):9.3f} {middle / base:7.1f}")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000:.0f} MB, before it {before:.0f} MB")


if __name__ == "__main__":
    main()
