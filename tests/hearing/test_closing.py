"""A stream that never closes, as where PulseAudio (16.1, seen in our own tests) died while it was read."""

import atexit
import threading
from collections.abc import Iterator

import pytest

from companion.errors import HearingError
from companion.soundcard import close_stream, load_sounddevice
from tests.realparts import need


class Stuck:
    """Closes only once it is let go."""

    def __init__(self) -> None:
        self.free, self.asked = threading.Event(), False

    def close(self, ignore_errors: bool) -> None:
        self.asked = ignore_errors
        self.free.wait(60)


@pytest.fixture
def unregistered(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    try:
        load_sounddevice(HearingError)
    except HearingError as fault:
        need(False, str(fault))
    gone: list[object] = []
    monkeypatch.setattr(atexit, "unregister", gone.append)
    return gone


@pytest.fixture
def stuck() -> Iterator[Stuck]:
    stream = Stuck()
    yield stream
    stream.free.set()


def test_it_is_let_go_of_and_portaudio_is_not_waited_for_at_the_end(stuck: Stuck, unregistered: list[object]) -> None:
    assert not close_stream(stuck, limit_s=0.2)
    assert stuck.asked
    assert len(unregistered) == 1


def test_one_that_closes_is_closed(stuck: Stuck, unregistered: list[object]) -> None:
    stuck.free.set()
    assert close_stream(stuck)
    assert unregistered == []
