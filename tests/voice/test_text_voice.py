"""The voice without sound, in simulated time."""

from datetime import UTC, datetime

import pytest

from companion.clocks import SimulatedClock
from companion.voice.best import open_voice
from companion.voice.text_voice import TextVoice


def make() -> tuple[SimulatedClock, TextVoice]:
    clock = SimulatedClock(datetime(2030, 3, 4, tzinfo=UTC))
    return clock, TextVoice(clock, words_per_s=4)


@pytest.mark.parametrize(
    ("text", "reading_ms"),
    [("Rub both hands until they are dry again.", 2000), ("Why?", 300), ("", 300), ("one two three four", 1000)],
)
def test_done_when_it_has_had_time_to_be_read(text: str, reading_ms: int) -> None:
    clock, voice = make()
    speaking = voice.start(text)
    clock.advance(reading_ms - 1)
    assert not speaking.done()
    clock.advance(1)
    assert speaking.done()
    assert speaking.fault() is None


def test_before_a_person_nothing_waits_for_what_nobody_hears() -> None:
    """Typed replies had waited a median of 4.9 s for a voice without a loudspeaker, and a report 19.5 s."""
    clock = SimulatedClock(datetime(2030, 3, 4, tzinfo=UTC))
    voice, missing = open_voice("en-US", clock, aloud=False)
    assert not missing
    assert voice.start("A summary of sixty words and more that nobody says aloud. " * 6).done()


def test_stop_ends_it_at_once_and_twice_is_harmless() -> None:
    _, voice = make()
    speaking = voice.start("A prompt that nobody wants to wait for.")
    speaking.stop()
    speaking.stop()
    assert speaking.done()


def test_it_says_why_there_is_no_sound() -> None:
    _, voice = make()
    assert voice.start("Gloves on.", "the voice has stopped working").fault() == "the voice has stopped working"


def test_a_speed_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        TextVoice(SimulatedClock(datetime(2030, 3, 4, tzinfo=UTC)), words_per_s=0)
