"""The loop that every conversation runs on: who loses the microphone types on, and nobody is nudged while the program
itself is speaking. What is said and how long a voice takes is invented."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from companion.clocks import SimulatedClock
from companion.conversation.asking import Answer, Asking
from companion.conversation.ear import Ear
from companion.conversation.guided import Session
from companion.conversation.parts import ear_for
from companion.conversation.room import Room
from companion.conversation.turns import SILENT_MS
from companion.hearing.engines import open_engine
from companion.hearing.room_files import FileMicrophone
from companion.machine.machine import Machine
from companion.models.catalogue import find, installed
from companion.record.reader import read_record
from companion.rehearsal.ear import open_ear
from companion.rehearsal.judging import Rules
from companion.rehearsal.rehearsal import Rehearsal
from companion.review.timeline import timeline
from companion.session.events import Silent
from companion.voice.text_voice import TextVoice
from tests.conversation.rig import WHOLE, Rig, Screen, Typist
from tests.realparts import need


@pytest.fixture(scope="module")
def ear() -> Iterator[Ear]:
    heard = ear_for("en-US", open_engine("pocketsphinx", None, "en-US"))
    yield heard
    heard.close()


def lost(rig: Rig) -> Room:
    """The rig's room with a microphone whose sound is over."""
    return replace(rig.session.room, microphone=FileMicrophone([]))


def faults(path: Path) -> list[object]:
    return [entry.body for entry in read_record(path).entries if entry.kind == "fault"]


def test_a_session_that_loses_its_microphone_goes_on_by_keyboard(tmp_path: Path, ear: Ear) -> None:
    rig = Rig(tmp_path, WHOLE)
    rig.session = Session(Machine(rig.loaded.procedure), lost(rig), rig.writer, ear)
    rig.run()
    rig.writer.close()
    assert rig.session.state.status == "finished"
    told = " has no more sound; the keyboard takes the same words"
    assert faults(rig.path) == [{"what": "microphone", "detail": told}]
    assert rig.screen.shown.count(f"notice: {told}") == 1


def test_a_rehearsal_that_loses_its_microphone_is_typed_on(tmp_path: Path) -> None:
    need(installed(find("scorer")) is not None, "the scorer's model: companion models fetch scorer")
    rig = Rig(tmp_path, ["I check the name of the patient", "that is all"])
    ear = open_ear("en-US")
    Rehearsal(rig.loaded.procedure, Rules(help="none"), lost(rig), rig.writer, ear).run()
    ear.close()
    rig.writer.close()
    told = " has no more sound; type on, or an empty end of input finishes"
    assert faults(rig.path) == [{"what": "microphone", "detail": told}]
    assert "key: I check the name of the patient" in rig.screen.shown


def test_a_question_is_typed_while_it_is_asked_and_nothing_else_answers_it(ear: Ear) -> None:
    clock, screen, typist = SimulatedClock(datetime(2030, 3, 4, tzinfo=UTC)), Screen(), Typist(["perhaps", "i agree"])
    typist.turn = True
    room = Room(clock, TextVoice(clock), screen, typist, FileMicrophone([]))
    answer = Asking(room, ear).ask("Do you agree?", ("i agree", "i refuse"))
    assert answer is None and "missed: that is none of the answers" in screen.shown, "and then nobody could be heard"
    typist.turn = True
    assert Asking(room, ear).ask("Do you agree?", ("i agree", "i refuse")) == Answer("i agree", "key")


def test_nobody_is_nudged_for_listening_to_a_long_prompt(tmp_path: Path) -> None:
    """The silence had been counted from the last reply, so that whoever heard a prompt of twenty seconds to its end was
    asked at once why they had said nothing."""
    rig = Rig(tmp_path, WHOLE)
    rig.session._prompts._voice = TextVoice(rig.clock, words_per_s=1.0)
    rig.run()
    rig.writer.close()
    moments = timeline(read_record(rig.path)).moments
    told = [
        (at - before.at_ms, 1000 * len(" ".join(before.says).split()), event)
        for before, (at, event) in zip(moments, ((m.at_ms, m.event) for m in moments[1:]), strict=False)
    ]
    assert max(spoken for _, spoken, _ in told) > SILENT_MS
    nudged = [(after, spoken) for after, spoken, event in told if isinstance(event, Silent)]
    assert nudged and all(after >= spoken + SILENT_MS for after, spoken in nudged)
