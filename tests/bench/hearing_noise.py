"""Rooms for the hearing benchmark: babble, speech-shaped noise, alarm tones, an echo. All from a fixed seed."""

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from companion.ports.sound import SAMPLE_RATE, Samples

Sound = npt.NDArray[np.float64]


def active_power(sound: Sound) -> float:
    """Mean power of the 20 ms stretches within 30 dB of the loudest: pauses do not count."""
    frame = SAMPLE_RATE // 50
    whole = sound[: sound.size // frame * frame].reshape(-1, frame)
    power = (whole * whole).mean(axis=1)
    return float(power[power > power.max() / 1000].mean())


def mixed(speech: Samples, noise: Sound, snr_db: float) -> Samples:
    """Speech with 0.4 s of the room before and after it, in noise `snr_db` below its own active level."""
    pad = SAMPLE_RATE * 2 // 5
    clean = np.pad(speech.astype(np.float64) / 32768, pad)
    cut = np.resize(noise, clean.size)
    gain = np.sqrt(active_power(clean) / (cut * cut).mean() / 10 ** (snr_db / 10))
    return to_samples(clean + gain * cut)


def to_samples(sound: Sound) -> Samples:
    """As 16-bit samples, made softer where it would clip."""
    peak = float(np.abs(sound).max())
    return np.asarray(np.rint(sound * (32000 / max(peak, 1.0) if peak > 0.97 else 32768)), np.int16)


def babble(voices: Sequence[Samples], seconds: float, chance: np.random.Generator) -> Sound:
    """All `voices` talking at once, each equally loud and begun at its own place."""
    size = int(seconds * SAMPLE_RATE)
    total = np.zeros(size)
    for voice in voices:
        stream = np.resize(voice.astype(np.float64), size + voice.size)
        begun = stream[int(chance.integers(voice.size)) :][:size]
        total += begun / np.sqrt(active_power(begun / 32768) * 32768**2)
    return total


def speech_shaped(like: Sound, seconds: float, chance: np.random.Generator) -> Sound:
    """Noise with the long-term spectrum of `like`."""
    size = int(seconds * SAMPLE_RATE)
    window = 1024
    frames = like[: like.size // window * window].reshape(-1, window)
    spectrum = np.sqrt((np.abs(np.fft.rfft(frames * np.hanning(window))) ** 2).mean(axis=0))
    white = np.fft.rfft(chance.standard_normal(size))
    shape = np.interp(np.linspace(0, 1, white.size), np.linspace(0, 1, spectrum.size), spectrum)
    return np.fft.irfft(white * shape, size)


def alarm(seconds: float) -> Sound:
    """Bursts of three pulses at 660 Hz with harmonics, in the manner of a medium-priority alarm (IEC 60601-1-8, from
    memory), every 2.5 s."""
    time = np.arange(int(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    tone = sum(np.sin(2 * np.pi * 660 * k * time) / k for k in (1, 2, 3, 4, 5))
    in_burst = time % 2.5
    sounding = (in_burst < 1.2) & (in_burst % 0.4 < 0.2)
    return np.asarray(tone * np.where(sounding, 1.0, 0.001))


def room(speech: Samples, chance: np.random.Generator, decay_s: float = 0.4) -> Samples:
    """Speech at 2 m in a small hard room: direct sound and a tail of noise that falls by 60 dB in `decay_s`."""
    time = np.arange(int(decay_s * SAMPLE_RATE)) / SAMPLE_RATE
    tail = chance.standard_normal(time.size) * 10 ** (-3 * time / decay_s)
    tail[: SAMPLE_RATE // 200] = 0
    tail *= 1.0 / np.sqrt((tail * tail).sum())
    tail[0] = 1.0
    clean = np.pad(speech.astype(np.float64) / 32768, (0, time.size))
    size = 1 << (clean.size + tail.size).bit_length()
    wet = np.fft.irfft(np.fft.rfft(clean, size) * np.fft.rfft(tail, size), size)[: clean.size]
    return to_samples(wet / max(np.abs(wet).max(), 1e-9) * 0.5)


Noise = Callable[[float, np.random.Generator], Sound]
