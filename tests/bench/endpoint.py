"""How soon the end of speech is noticed in a noisy ward: `python -m tests.bench.endpoint [CLIPS]`.

For each noise: in how many clips the phrase was found at all, how often its end was noticed within 0.6 s of the last
sample of speech, how late it was in the median, and how often a minute something began that was no phrase. The
baseline is the endpointer inside PocketSphinx on the same sound.
"""

import random
import statistics
import sys
from dataclasses import dataclass, field

import numpy as np
import pocketsphinx

from companion.hearing.endpoint import Endpointer, SpeechBegan, SpeechEnded
from companion.hearing.vad import best_detector
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.bench.hearing_noise import Sound, active_power, babble, speech_shaped, to_samples
from tests.bench.hearing_texts import CONTROLS, procedure_phrases, talk
from tests.bench.hearing_voices import VOICES, eight_talkers, say

BEFORE_S, AFTER_S = 5, 4
SOON_S = 0.6
LEVEL = 0.05
"""Effective value of the speech, full scale being 1: -26 dB."""

Spans = list[tuple[int, int]]
"""First and last sample of each utterance found; the last is where its end was noticed."""


@dataclass
class Row:
    """What one endpointer did in one noise."""

    clips: int = 0
    found: int = 0
    soon: int = 0
    late_s: list[float] = field(default_factory=list)
    strays: int = 0
    seconds: float = 0.0


def ours(sound: Samples) -> Spans:
    spans, began = [], 0
    endpointer = Endpointer(best_detector())
    for at in range(0, sound.size - 512, 512):
        for turn in endpointer.feed(sound[at : at + 512]):
            if isinstance(turn, SpeechBegan):
                began = at + 512 - turn.samples.size
            elif isinstance(turn, SpeechEnded):
                spans.append((began, at + 512))
    return spans


def baseline(sound: Samples) -> Spans:
    spans, began = [], 0
    endpointer = pocketsphinx.Endpointer()
    size = endpointer.frame_bytes // 2
    for at in range(0, sound.size - size, size):
        was = endpointer.in_speech
        endpointer.process(sound[at : at + size].tobytes())
        if endpointer.in_speech and not was:
            began = at
        elif was and not endpointer.in_speech:
            spans.append((began, at + size))
    return spans


def scene(phrase: Samples, noise: Sound | None, snr_db: float, seed: int) -> tuple[Samples, int, int]:
    """The phrase in a stretch of the ward; the first and last sample of its speech."""
    speech = phrase / 32768
    spoken = np.flatnonzero(np.abs(speech) > 0.01)
    speech = speech[spoken[0] : spoken[-1]] * (LEVEL / np.sqrt(active_power(speech)))
    first = BEFORE_S * SAMPLE_RATE
    sound = np.concatenate([np.zeros(first), speech, np.zeros(AFTER_S * SAMPLE_RATE)])
    chance = np.random.default_rng(seed)
    sound += chance.normal(0, 10 ** (-70 / 20), sound.size)
    if noise is not None:
        begin = int(chance.integers(noise.size - sound.size))
        cut = noise[begin : begin + sound.size]
        sound += cut * LEVEL / np.sqrt((cut * cut).mean()) * 10 ** (-snr_db / 20)
    return to_samples(sound), first, first + speech.size


def judge(row: Row, spans: Spans, sound: Samples, first: int, last: int) -> None:
    row.clips += 1
    row.seconds += sound.size / SAMPLE_RATE
    on_phrase = [span for span in spans if span[0] < last and span[1] > first]
    row.strays += len(spans) - len(on_phrase)
    ends = [end for _, end in on_phrase if end > last - SAMPLE_RATE // 5]
    if ends:
        row.found += 1
        row.late_s.append((ends[0] - last) / SAMPLE_RATE)
        row.soon += row.late_s[-1] <= SOON_S


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    chance = random.Random(2)
    phrases = chance.sample([*procedure_phrases(), *CONTROLS], count)
    talkers = eight_talkers(talk(40, chance))
    noises = {
        "babble": babble(talkers, 60, np.random.default_rng(1)),
        "speech-shaped": speech_shaped(np.concatenate(talkers).astype(np.float64), 60, np.random.default_rng(1)),
    }
    rooms = [("quiet", None, 0.0)] + [(kind, noise, snr) for kind, noise in noises.items() for snr in (20, 10, 5, 0)]
    print(f"{'noise':14} {'dB':>3}  {'endpointer':12} {'found':>7} {'<= 0.6 s':>9} {'median s':>9} {'strays/min':>11}")
    for kind, noise, snr in rooms:
        rows = {"ours": Row(), "pocketsphinx": Row()}
        for number, phrase in enumerate(phrases):
            sound, first, last = scene(say(phrase, VOICES[number % 4]), noise, snr, number)
            judge(rows["ours"], ours(sound), sound, first, last)
            judge(rows["pocketsphinx"], baseline(sound), sound, first, last)
        for name, row in rows.items():
            late = f"{statistics.median(row.late_s):9.2f}" if row.late_s else f"{'-':>9}"
            counts = f"{row.found:3}/{row.clips:<3} {row.soon:5}/{row.clips:<3}"
            print(f"{kind:14} {snr:3.0f}  {name:12} {counts} {late} {row.strays / row.seconds * 60:11.1f}", flush=True)


if __name__ == "__main__":
    main()
