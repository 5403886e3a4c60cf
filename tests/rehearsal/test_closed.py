"""A value or phrase that is due is asked closed where free writing has none; by flite and the real model."""

from datetime import date

import pytest

from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.vad import best_detector
from companion.models.catalogue import find as find_model
from companion.models.catalogue import installed
from companion.rehearsal.closed import hints, sentences
from companion.rehearsal.ear import Dictation, TalkEar, Utterance
from companion.rehearsal.judging.spoken import value_in
from companion.speech.language import asides_of
from companion.speech.values import NumberValue
from tests.realparts import need
from tests.rehearsals import procedure

TODAY = date(2030, 1, 1)
DOSE = procedure("subcutaneous-insulin").step("ordered-dose")
UNITS = NumberValue(type="number", unit="units", least=1, most=100)


def test_the_sentence_is_asked_again_with_each_figure_in_the_place_before_the_unit() -> None:
    asked = sentences(DOSE, "The dose is eating units.", TODAY, "en-US")
    assert "the dose is eighteen units" in asked
    assert "eighteen units" in asked


@pytest.mark.parametrize(
    "written", ["It is eighteen units", "18 units", "so while we wait I tell you about my week in the hills"]
)
def test_a_value_that_is_there_and_long_talk_are_left_as_written(written: str) -> None:
    assert sentences(DOSE, written, TODAY, "en-US") == ()


def test_a_critical_step_has_its_phrases_and_another_has_none() -> None:
    wipe, gather = (procedure("subcutaneous-insulin").step(name) for name in ("wipe-stopper", "gather"))
    assert wipe.critical
    assert not gather.critical
    assert sentences(wipe, "stop a wipe", TODAY, "en-US") == getattr(wipe, "replies")  # noqa: B009
    assert sentences(gather, "tray", TODAY, "en-US") == ()


@pytest.fixture(scope="module")
def dictation() -> Dictation:
    need(installed(find_model("scorer")) is not None, "the scorer's model: companion models fetch scorer")
    return open_engine("scorer", None, "en")  # type: ignore[return-value]


def heard(dictation: Dictation, text: str, voice: str, closed: bool) -> str:
    """What the ear makes of `text` said by flite while the ordered dose is due."""
    import numpy as np

    from tests.bench.hearing_voices import say

    try:
        sound = say(text, voice)
    except RuntimeError as fault:
        need(False, str(fault))
    ear = TalkEar(dictation, Endpointer(best_detector()))
    if closed:
        ear.closed = lambda written: (*sentences(DOSE, written, TODAY, "en-US"), *hints(written))
    found: list[Utterance] = []
    quiet = np.zeros(24_000, np.int16)
    for samples in np.array_split(np.concatenate([quiet, sound, quiet]), 100):
        uttered = ear.hear(samples)
        found += [uttered] if uttered is not None else []
    return " ".join(each.text for each in found)


def test_a_value_that_free_writing_mishears_is_heard_closed(dictation: Dictation) -> None:
    """flite's voice rms says `eighteen units`; freely the model writes `A team units`, in which there is no value."""
    assert value_in(UNITS, heard(dictation, "eighteen units", "rms", closed=False)) is None
    assert value_in(UNITS, heard(dictation, "eighteen units", "rms", closed=True)) == "18"


def test_talk_that_is_no_value_stays_none(dictation: Dictation) -> None:
    for text in ("my units were late this morning", "she wants tea", "a team of nurses"):
        assert value_in(UNITS, heard(dictation, text, "rms", closed=True)) is None


@pytest.mark.parametrize("text", ["hint", "help", "hint please"])
def test_a_hint_that_free_writing_mishears_is_given(dictation: Dictation, text: str) -> None:
    """flite's voice slt says them; freely the model writes `And?`, `Hell.` and `And please`, and nobody answered."""
    assert heard(dictation, text, "slt", closed=False).lower().strip(".?") not in asides_of("en").hints
    assert heard(dictation, text, "slt", closed=True) == text


def test_short_talk_asks_for_no_hint(dictation: Dictation) -> None:
    for text in ("and", "hands", "skin", "okay", "i sit down"):
        assert heard(dictation, text, "slt", closed=True) not in asides_of("en").hints
