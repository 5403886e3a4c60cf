"""Sound files of every kind become mono at 16 kHz, or one clear sentence."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import HearingError
from companion.hearing.files import read_sound
from companion.ports.sound import SAMPLE_RATE


def tone(rate: int, seconds: float = 0.5) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * 440 * np.arange(int(rate * seconds)) / rate)


@pytest.mark.parametrize(
    ("rate", "channels", "subtype", "suffix"),
    [
        (16_000, 1, "PCM_16", ".wav"),
        (8_000, 1, "PCM_16", ".wav"),
        (8_000, 1, "ULAW", ".wav"),
        (48_000, 2, "PCM_24", ".wav"),
        (44_100, 2, "PCM_16", ".flac"),
        (96_000, 6, "FLOAT", ".wav"),
        (22_050, 1, "VORBIS", ".ogg"),
        (11_025, 1, "PCM_U8", ".wav"),
    ],
)
def test_any_format_keeps_its_tone(tmp_path: Path, rate: int, channels: int, subtype: str, suffix: str) -> None:
    path = tmp_path / f"tone{suffix}"
    soundfile.write(path, np.repeat(tone(rate)[:, None], channels, axis=1), rate, subtype=subtype)
    heard = read_sound(path)
    assert heard.dtype == np.int16
    assert abs(heard.size - SAMPLE_RATE // 2) <= 4
    spectrum = np.abs(np.fft.rfft(heard * np.hanning(heard.size)))
    assert np.argmax(spectrum) * SAMPLE_RATE / heard.size == pytest.approx(440, abs=3)
    assert np.abs(heard).max() == pytest.approx(16_384, rel=0.05)


def test_a_file_without_a_header_is_16_bit_mono_at_16_khz(tmp_path: Path) -> None:
    """As the headerless recordings of pocketsphinx-testdata are."""
    samples = np.array([0, 100, -100, 32767, -32768], np.int16)
    assert read_sound(written(tmp_path / "some.raw", samples.tobytes())).tolist() == samples.tolist()


def test_channels_are_averaged(tmp_path: Path) -> None:
    path = tmp_path / "apart.wav"
    soundfile.write(path, np.column_stack([np.full(1600, 0.5), np.full(1600, -0.25)]), SAMPLE_RATE, subtype="FLOAT")
    assert set(read_sound(path)) == {4096}


def test_sound_over_full_scale_is_held_at_it(tmp_path: Path) -> None:
    path = tmp_path / "loud.wav"
    soundfile.write(path, np.array([2.0, -2.0]), SAMPLE_RATE, subtype="FLOAT")
    assert read_sound(path).tolist() == [32767, -32768]


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


def test_what_cannot_be_used_is_named(tmp_path: Path) -> None:
    silent, nan, hour = tmp_path / "none.wav", tmp_path / "nan.wav", tmp_path / "hour.wav"
    soundfile.write(silent, np.zeros(0), SAMPLE_RATE)
    soundfile.write(nan, np.full(100, np.nan), SAMPLE_RATE, subtype="FLOAT")
    soundfile.write(hour, np.zeros(3600 * 100, np.int16), 100)
    cases = [
        (tmp_path / "away.wav", "no such file"),
        (tmp_path, "not a file"),
        (written(tmp_path / "empty.wav", b""), "empty"),
        (written(tmp_path / "text.wav", b"not a sound at all, only words" * 9), "cannot be read as sound"),
        (written(tmp_path / "cut.flac", b"fLaC" + bytes(60)), "cannot be read as sound"),
        (silent, "no samples"),
        (nan, "no numbers"),
        (hour, "longer than ten minutes"),
    ]
    for path, reason in cases:
        with pytest.raises(HearingError, match=reason) as caught:
            read_sound(path)
        assert str(path) in str(caught.value)
        assert "\n" not in str(caught.value)
