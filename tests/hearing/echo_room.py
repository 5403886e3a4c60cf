"""A loudspeaker and a microphone on one table, and a spotter that listens there to a word over the program's voice."""

from collections.abc import Iterator

import numpy as np

from companion.hearing.stopword import StopSpotter
from companion.hearing.vad import best_detector
from companion.ports.recogniser import Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.bench.hearing_noise import Sound, to_samples

BLOCK = 400
"""Samples in a block of the microphone's, 25 ms."""


def echo(played: Sound, seed: int, delay_s: float = 0.08) -> Sound:
    """What the microphone hears of what was played: late, with a room's tail, through a loudspeaker that is not quite
    linear, and with noise at -62 dBFS."""
    chance = np.random.default_rng(seed)
    time = np.arange(round(0.3 * SAMPLE_RATE)) / SAMPLE_RATE
    tail = 0.25 * chance.standard_normal(time.size) * 10 ** (-3 * time / 0.3)
    tail[0] = 1
    path = np.concatenate([np.zeros(round(delay_s * SAMPLE_RATE)), tail / np.sqrt((tail * tail).sum())])
    size = 1 << (played.size + path.size).bit_length()
    wet = np.fft.irfft(np.fft.rfft(played, size) * np.fft.rfft(path, size), size)[: played.size]
    return np.tanh(3 * wet) / 3 + chance.normal(0, 10 ** (-62 / 20), wet.size)


def jolted(sound: Sound) -> Sound:
    """The sound 20 ms too early in every other stretch of 1.7 s, as where buffers run over and under."""
    at = np.arange(sound.size)
    return np.asarray(sound[np.minimum(at + at // round(1.7 * SAMPLE_RATE) % 2 * (SAMPLE_RATE // 50), sound.size - 1)])


def arriving(heard: Sound, played: Sound) -> Iterator[tuple[Samples, Samples, float]]:
    """Blocks of what was heard and of what was played meanwhile, which comes unevenly as from a sound card; and the
    second at which each block is complete."""
    near, far = to_samples(heard), to_samples(played)
    given = 0
    for number, at in enumerate(range(0, near.size - BLOCK, BLOCK)):
        until = at + BLOCK + number % 3 * 100
        yield near[at : at + BLOCK], far[given:until], (at + BLOCK) / SAMPLE_RATE
        given = until


def spotted(engine: Recogniser, heard: Sound, played: Sound | None) -> list[float]:
    """The seconds at which the word was spotted; without an echo canceller where `played` is None."""
    return listened(engine, heard, played)[0]


def listened(engine: Recogniser, heard: Sound, played: Sound | None) -> tuple[list[float], bool]:
    """The same, and whether somebody said something else."""
    now: list[Samples] = []
    spotter = StopSpotter(engine, best_detector(), None if played is None else lambda: now[0])
    found = []
    for near, far, at_s in arriving(heard, heard if played is None else played):
        now[:] = [far]
        if spotter.feed(near):
            found.append(at_s)
    return found, spotter.talked()
