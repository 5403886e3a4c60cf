"""What one would do without this project: a plain grammar, and dictation with the nearest text."""

import time
from pathlib import Path
from typing import Any

from companion.hearing.pronunciation import phonemes
from companion.hearing.scorer.engine import PhraseScorer
from companion.ports.sound import SAMPLE_RATE, Samples

Answer = tuple[str | None, float]
"""The phrase taken, and seconds from the end of the sound to the decision."""


class PlainGrammar:
    """PocketSphinx with the allowed phrases as its grammar, and its best guess believed."""

    name = "grammar alone"

    def __init__(self) -> None:
        from pocketsphinx import Decoder

        self._decoder: Any = Decoder(lm=None, bestpath=False, loglevel="FATAL", samprate=SAMPLE_RATE)

    def hear(self, samples: Samples, phrases: tuple[str, ...]) -> Answer:
        for word in {word for phrase in phrases for word in phrase.split(" ")}:
            if self._decoder.lookup_word(word) is None:
                for said in phonemes(word)[:1]:
                    self._decoder.add_word(word, " ".join(said), True)
        known = [phrase for phrase in phrases if all(self._decoder.lookup_word(word) for word in phrase.split(" "))]
        rule = " | ".join(known)
        self._decoder.add_jsgf_string("plain", f"#JSGF V1.0; grammar plain; public <plain> = {rule};")
        self._decoder.activate_search("plain")
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        began = time.perf_counter()
        self._decoder.end_utt()
        best = self._decoder.hyp()
        heard = None if best is None or best.hypstr not in phrases else best.hypstr
        return heard, time.perf_counter() - began


class DictationNearest:
    """Open dictation by the scorer's own model, then the allowed phrase of nearest text (rapidfuzz, 80 or more)."""

    name = "dictation + nearest"

    def __init__(self, folder: Path) -> None:
        from companion.hearing.scorer.engine import open_scorer

        self._scorer: PhraseScorer = open_scorer(folder)

    def hear(self, samples: Samples, phrases: tuple[str, ...]) -> Answer:
        from rapidfuzz import fuzz, process, utils

        began = time.perf_counter()
        text = self._scorer.dictate(samples).text
        found = process.extractOne(text, phrases, scorer=fuzz.ratio, processor=utils.default_process, score_cutoff=80)
        return (None if found is None else str(found[0])), time.perf_counter() - began

    def close(self) -> None:
        self._scorer.close()
