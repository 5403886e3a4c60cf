"""The scripted ear keeps the contract of the real ones."""

from collections.abc import Callable

import numpy as np
import pytest

from companion.errors import HearingError
from companion.hearing.scripted import ScriptedRecogniser
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sound import Samples
from tests.hearing.recogniser_contract import Subject, contract, hear

PHRASES = ("gloves on", "hands clean", "stop")


def sound_of(text: str) -> Samples:
    """Any samples that differ from text to text."""
    return np.frombuffer(text.encode("utf-16-le"), dtype="<i2")


@pytest.fixture
def subject() -> Subject:
    talk = ("the kettle is on", "nobody asked")
    sounds = {sound_of(text).tobytes(): text for text in (*PHRASES, *talk)}
    return Subject(ScriptedRecogniser(sounds=sounds), sound_of, PHRASES, talk)


@contract
def test_contract(check: Callable[[Subject], None], subject: Subject) -> None:
    check(subject)


def test_queue_is_heard_in_turn() -> None:
    given = Hearing("unclear", None, "stop", -3.0, "scripted", "too faint", 0.0)
    ear = ScriptedRecogniser(["stop", "gloves off", "", given])
    expected = Expected(PHRASES, ("gloves off",))
    something = sound_of("x")
    verdicts = [hear(ear, expected, something).verdict for _ in range(5)]
    assert verdicts == ["accepted", "unclear", "silence", "unclear", "other"]


def test_deafness() -> None:
    ear = ScriptedRecogniser(deaf_to=("gloves",))
    assert ear.unknown_words(("gloves on", "gloves off")) == ("gloves",)
    with pytest.raises(HearingError):
        ear.listen(Expected(()))
