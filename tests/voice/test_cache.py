"""The folder of rendered prompts."""

import stat
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import VoiceError
from companion.voice.cache import SpeechCache, cache_folder

RATE = 22050


def tone(path: Path, seconds: float = 0.5, silence_s: float = 0.0, file_format: str = "WAV") -> Path:
    """A file as an engine would write it, with silence at both ends."""
    time = np.arange(round(seconds * RATE)) / RATE
    silence = np.zeros(round(silence_s * RATE))
    soundfile.write(
        path, np.concatenate([silence, 0.5 * np.sin(2 * np.pi * 440 * time), silence]), RATE, format=file_format
    )
    return path


def test_what_was_taken_in_is_found_again(tmp_path: Path) -> None:
    cache = SpeechCache(tmp_path / "cache")
    path = cache.path("a voice", 165, "Gloves on.")
    assert cache.load(path) is None
    made, rate = cache.take_in(tone(tmp_path / "made.wav"), path)
    found = cache.load(path)
    assert found is not None
    assert (found[1], rate) == (RATE, RATE)
    assert np.allclose(found[0], made, atol=1 / 32768)


def test_text_voice_and_rate_each_make_another_file(tmp_path: Path) -> None:
    cache = SpeechCache(tmp_path)
    keys = {
        cache.path("a voice", 165, "Gloves on."),
        cache.path("a voice", 165, "Gloves off."),
        cache.path("a voice", 120, "Gloves on."),
        cache.path("another", 165, "Gloves on."),
    }
    assert len(keys) == 4


def test_silence_at_the_ends_is_cut_to_twenty_milliseconds(tmp_path: Path) -> None:
    cache = SpeechCache(tmp_path / "cache")
    sound, _ = cache.take_in(tone(tmp_path / "made.wav", 0.5, silence_s=0.4), cache.path("v", 1, "t"))
    assert sound.size / RATE == pytest.approx(0.54, abs=0.002)


def test_another_format_under_the_same_name_is_understood(tmp_path: Path) -> None:
    """macOS writes AIFF whatever the file is called (pyttsx3 issue 361)."""
    cache = SpeechCache(tmp_path / "cache")
    path = cache.path("v", 1, "t")
    cache.take_in(tone(tmp_path / "made.wav", file_format="AIFF"), path)
    assert soundfile.info(path).format == "WAV"


@pytest.mark.parametrize("content", [b"", b"RIFF", b"not a sound at all", bytes(2000)])
def test_a_damaged_file_is_an_error_and_never_cached(tmp_path: Path, content: bytes) -> None:
    cache = SpeechCache(tmp_path / "cache")
    path = cache.path("v", 1, "t")
    (tmp_path / "made.wav").write_bytes(content)
    with pytest.raises(VoiceError):
        cache.take_in(tmp_path / "made.wav", path)
    assert not path.exists()


def test_a_file_of_mere_silence_is_an_error(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "made.wav", np.zeros(RATE), RATE)
    cache = SpeechCache(tmp_path / "cache")
    with pytest.raises(VoiceError, match="without any sound"):
        cache.take_in(tmp_path / "made.wav", cache.path("v", 1, "t"))


def test_a_damaged_entry_counts_as_absent(tmp_path: Path) -> None:
    cache = SpeechCache(tmp_path)
    path = cache.path("v", 1, "t")
    path.write_bytes(b"RIFF damaged")
    assert cache.load(path) is None


def test_only_the_owner_can_read_it(tmp_path: Path) -> None:
    cache = SpeechCache(tmp_path / "cache")
    path = cache.path("v", 1, "t")
    cache.take_in(tone(tmp_path / "made.wav"), path)
    assert stat.S_IMODE((tmp_path / "cache").stat().st_mode) == 0o700
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_it_does_not_grow_and_keeps_what_was_used_last(tmp_path: Path) -> None:
    size = tone(tmp_path / "size.wav").stat().st_size
    cache = SpeechCache(tmp_path / "cache", limit_bytes=3 * size)
    paths = [cache.path("v", 1, f"prompt {number}") for number in range(5)]
    for path in paths[:3]:
        cache.take_in(tone(tmp_path / "made.wav"), path)
    assert cache.load(paths[0]) is not None  # used again, so the second is now the oldest
    cache.take_in(tone(tmp_path / "made.wav"), paths[3])
    assert [path.exists() for path in paths[:4]] == [True, False, True, True]
    assert sum(entry.stat().st_size for entry in (tmp_path / "cache").iterdir()) <= 3 * size


def test_the_folder_can_be_chosen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPANION_CACHE", str(tmp_path))
    assert cache_folder() == tmp_path / "speech"
    monkeypatch.delenv("COMPANION_CACHE")
    assert cache_folder().name == "speech"
