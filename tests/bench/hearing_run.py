"""One engine over all cases, in a process of its own so that its memory can be told apart."""

import json
import resource
import sys
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from companion.errors import CompanionError
from companion.hearing.decoys import decoys_for
from companion.hearing.engines import open_engine
from companion.models.catalogue import installed, load_catalogue
from companion.ports.recogniser import Expected
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.bench.hearing_baselines import DictationNearest, PlainGrammar
from tests.bench.hearing_corpus import Case

ENGINES = ("scorer", "pocketsphinx", "vosk", PlainGrammar.name, DictationNearest.name)


@dataclass(frozen=True)
class Outcome:
    kind: str
    source: str
    room: str
    truth: str | None
    heard: str | None
    said: str
    nearest: str | None
    probability: float
    decide_s: float
    sound_s: float
    fitting: bool


Ear = Callable[[Samples, tuple[str, ...]], tuple[str | None, float, str | None, float]]
"""Sound and phrases in; phrase, seconds to decide, nearest, probability out."""


def scorer_folder() -> Path:
    """Where the scorer's model is. Raises RuntimeError when it has not been fetched."""
    for model in load_catalogue():
        if model.engine == "scorer" and (folder := installed(model)) is not None:
            return folder
    raise RuntimeError("the phrase scorer is not here: companion models fetch scorer")


def open_ear(name: str) -> Ear:
    """The engine or baseline of that name."""
    if name == PlainGrammar.name:
        plain = PlainGrammar()
        return lambda samples, phrases: (*plain.hear(samples, phrases), None, 0.0)
    if name == DictationNearest.name:
        nearest = DictationNearest(scorer_folder())
        return lambda samples, phrases: (*nearest.hear(samples, phrases), None, 0.0)
    engine = open_engine(name, None, "en-US")

    def ear(samples: Samples, phrases: tuple[str, ...]) -> tuple[str | None, float, str | None, float]:
        known = tuple(p for p in phrases if not engine.unknown_words([p]))
        if not known:
            return None, 0.0, None, 0.0
        listening = engine.listen(Expected(known, decoys_for(known, "en-US", engine.unknown_words)))
        listening.feed(samples)
        found = listening.finish()
        return found.phrase, found.decide_s, found.nearest, found.probability

    return ear


def run(name: str, cases: Iterable[Case]) -> None:
    """Write one JSON line an outcome to standard output, and one with the peak memory at the end."""
    try:
        ear = open_ear(name)
    except (CompanionError, RuntimeError) as error:
        sys.exit(f"{name}: left out: {error}")
    for case in cases:
        samples = case.load()
        heard, decide_s, nearest, probability = ear(samples, case.phrases)
        outcome = Outcome(
            case.kind,
            case.source,
            case.room,
            case.truth,
            heard,
            case.said,
            nearest,
            probability,
            decide_s,
            samples.size / SAMPLE_RATE,
            case.fitting,
        )
        sys.stdout.write(json.dumps(asdict(outcome)) + "\n")
        sys.stdout.flush()
    peak_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    sys.stdout.write(json.dumps({"peak_mb": peak_kb / 1024}) + "\n")
