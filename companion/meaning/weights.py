"""How much each mark of `evidence` and each move of `assign` speaks for a reading.

Fitted by `tests/bench/rehearsal_fit.py` on the transcripts that the lexicons are counted from.
"""

import json
from collections.abc import Mapping
from functools import cache
from importlib import resources


@cache
def weights(sensed: bool = False) -> Mapping[str, float]:
    """By mark; one that is not there counts nothing. `sensed`: those for a talk that a model has read as well."""
    file = resources.files("companion.meaning") / ("weights-sensed.json" if sensed else "weights.json")
    found: dict[str, float] = json.loads(file.read_text(encoding="utf-8"))
    return found
