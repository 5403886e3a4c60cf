"""Levels, and what is said about a microphone."""

import numpy as np
import pytest

from companion.hearing.level import SILENCE_DBFS, LevelMeter, clipped_share, rms_dbfs
from companion.ports.sound import SAMPLE_RATE, Samples


def sine(amplitude: float, seconds: float = 1.0) -> Samples:
    time = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    return np.asarray(np.rint(amplitude * np.sin(2 * np.pi * 1000 * time)), np.int16)


def noise(dbfs: float, seconds: float = 2.0) -> Samples:
    chance = np.random.default_rng(1)
    return np.asarray(np.rint(chance.normal(0, 32768 * 10 ** (dbfs / 20), round(seconds * SAMPLE_RATE))), np.int16)


@pytest.mark.parametrize(
    ("samples", "dbfs"),
    [
        (sine(32767), -3.01),  # a sine's effective value is its peak over the square root of two
        (sine(3276.7), -23.01),
        (np.full(100, 16384, np.int16), -6.02),
        (np.zeros(100, np.int16), SILENCE_DBFS),
        (np.zeros(0, np.int16), SILENCE_DBFS),
    ],
)
def test_level_against_the_arithmetic_of_a_sine(samples: Samples, dbfs: float) -> None:
    assert rms_dbfs(samples) == pytest.approx(dbfs, abs=0.01)


def test_clipping_is_counted() -> None:
    loud = np.array([32767, -32768, 0, 100], np.int16)
    assert clipped_share(loud) == 0.5
    assert clipped_share(np.zeros(0, np.int16)) == 0.0


@pytest.mark.parametrize(
    ("room", "speech", "ok", "words"),
    [
        (noise(-70), sine(6000), True, "the room is quiet (-70 dBFS)"),
        (noise(-40), sine(6000), True, "the room is noisy (-40 dBFS): speak close"),
        (noise(-25), sine(6000), False, "the room is very loud"),
        (
            noise(-70),
            np.clip(sine(32767).astype(int) * 3, -32768, 32767).astype(np.int16),
            False,
            "too loud and distorts",
        ),
        (np.zeros(2 * SAMPLE_RATE, np.int16), np.zeros(0, np.int16), False, "no sound at all"),
    ],
)
def test_a_microphone_in_plain_words(room: Samples, speech: Samples, ok: bool, words: str) -> None:
    meter = LevelMeter()
    sound = np.concatenate([room, speech])
    for start in range(0, sound.size, 500):  # no multiple of the meter's own stretches
        meter.feed(sound[start : start + 500])
    report = meter.report()
    assert report.ok == ok
    assert words in report.words
    assert report.seconds == pytest.approx(sound.size / SAMPLE_RATE)


def test_speech_does_not_hide_the_room() -> None:
    meter = LevelMeter()
    meter.feed(np.concatenate([noise(-60, 1.0), sine(8000, 2.0)]))
    report = meter.report()
    assert report.noise_dbfs == pytest.approx(-60, abs=1)
    assert report.loud_dbfs == pytest.approx(rms_dbfs(sine(8000)), abs=0.5)
