"""Own words in a session, with a scripted reader and a real record: what is taken, asked back and kept."""

from pathlib import Path
from typing import Any

import pytest

from companion.conversation.guided import Session
from companion.exports.tables import rows
from companion.exports.webvtt import captions
from companion.machine.machine import Machine
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.review.timeline import timeline
from companion.session.events import AskedBack, Missed, Replied, Resumed, Sealed
from companion.speech.controls import right_or_wrong
from tests.conversation.rig import DRILL, WHOLE, Rig, spoken, typed
from tests.exports.making import source

TURNS = DRILL.with_name("turns.yaml")
DONE, AGREES, DIFFERS = "[it has been done]", "[yes, it agrees]", "[no, it does not agree]"
SURE, LIKELY = 3.0, -0.5
RIGHT = right_or_wrong("en-US")
TO_WHO, TO_DOSE, TO_VOLUME = WHOLE[:6], WHOLE[:8], WHOLE[:11]


def events(rig: Rig) -> list[Any]:
    """The events in the record; its fold is where the session stands."""
    told = timeline(read_record(rig.path))
    assert told.state == rig.session.state
    return [moment.event for moment in told.moments if moment.event is not None]


def bodies(rig: Rig) -> str:
    """The record, but for its first line, which holds the procedure's own text."""
    return "\n".join(rig.path.read_text(encoding="utf-8").splitlines()[1:])


def test_what_is_surely_meant_is_taken_and_told_and_the_words_are_nowhere(tmp_path: Path) -> None:
    said = "mrs juniper gave me plenty of gel"
    rig = typed(tmp_path, [], {said: {DONE: SURE}})
    spoken(rig, said)
    event = events(rig)[-1]
    assert (event.kind, event.phrase, event.how, event.engine, event.margin) == (
        *("replied", "rub is in", "own words", "test", "3.00"),
    )
    assert rig.session.state.done[0].phrase == "rub is in"
    for shown in (rig.path.read_text("utf-8"), " ".join(rig.screen.shown)):
        assert "juniper" not in shown and "plenty" not in shown
    rig.writer.close()


def test_what_is_likely_is_asked_back_and_the_record_tells_it_all(tmp_path: Path) -> None:
    said = "think i have some on my palms"
    rig = typed(tmp_path, [said, "yeah", "pause"], {said: {DONE: LIKELY}})
    asked, answered = events(rig)[1:3]
    assert (asked.kind, asked.phrase, asked.by) == ("asked back", "rub is in", "key")
    assert (answered.kind, answered.how) == ("replied", "asked back")
    assert f"Rub is in. {RIGHT}" in rig.screen.shown
    assert said not in bodies(rig)
    rig.writer.close()
    heard = [moment.heard for moment in timeline(read_record(rig.path)).moments]
    assert any('"rub is in" asked back (typed, in own words, margin' in text for text in heard)
    assert any("as asked back" in text for text in heard)
    cues = captions(source(rig.path)).decode()
    assert "(rub is in, most likely)" in cues and said not in cues
    assert rows(source(rig.path))[0].phrases == "rub is in"


def test_the_captions_tell_own_words_from_a_phrase(tmp_path: Path) -> None:
    rig = typed(tmp_path, ["it's on my palms"], {"it's on my palms": {DONE: SURE}})
    rig.writer.close()
    assert "(rub is in, in own words)" in captions(source(rig.path)).decode()


def test_a_mere_yes_at_a_critical_step_is_answered_once_by_what_counts(tmp_path: Path) -> None:
    rig = typed(tmp_path, [*TO_WHO, "yes please", "yeah"])
    assert next(event for event in events(rig) if isinstance(event, AskedBack)).phrase == ""
    assert rig.screen.shown.count("First the name.") == 2
    assert any(text.startswith("missed: `yeah` is not a reply here") for text in rig.screen.shown)
    spoken(rig, "yeah")
    assert isinstance(events(rig)[-1], Missed)
    assert rig.session.state.here.item == 0
    rig.writer.close()


def test_a_mere_yes_does_what_is_expected_where_nothing_critical_hangs_on_it(tmp_path: Path) -> None:
    rig = typed(tmp_path, [*WHOLE[:10], "all done"])
    assert rig.session.state.done[-1].step == "tidy"
    assert rig.session.state.done[-1].phrase == "tray is tidy"
    rig.writer.close()


@pytest.mark.parametrize("said", ["yeah", "yep", "it's right", "yes that's correct", "um yes"])
def test_a_mere_yes_answers_right_or_wrong(tmp_path: Path, said: str) -> None:
    rig = typed(tmp_path, [*TO_DOSE, "18 units", said])
    assert rig.session.state.values["ordered"].written() == "18 units"
    rig.writer.close()


@pytest.mark.parametrize(
    "said",
    ["is that right", "it's all right", "right then", "well done", "okay so", "done", "that's fine", "is it yes"],
)
def test_comfort_praise_and_questions_confirm_no_dose(tmp_path: Path, said: str) -> None:
    """All of them are said to a patient or a colleague while the question waits for its answer."""
    rig = typed(tmp_path, [*TO_DOSE, "18 units", said])
    spoken(rig, said)
    assert "ordered" not in rig.session.state.values
    rig.writer.close()


def test_a_session_is_not_ended_by_a_mere_word(tmp_path: Path) -> None:
    rig = typed(tmp_path, ["stop", "end it", "yeah"], {})
    assert rig.session.state.status == "leaving"
    rig.writer.close()


def test_a_value_in_a_sentence_is_heard_back_and_a_corrected_one_as_corrected(tmp_path: Path) -> None:
    known = {
        said: {"18 units": SURE, "16 units": SURE} for said in ("it's eighteen units", "eighteen no sixteen units")
    }
    for said, figure in zip(known, ("18", "16"), strict=True):
        rig = typed(tmp_path / figure, [*TO_DOSE, said], known)
        assert rig.screen.shown[-1] == f"Heard: {figure} units. {RIGHT}"
        assert "ordered" not in rig.session.state.values
        rig.writer.close()


def test_a_value_that_is_not_heard_back_anyway_is_asked_back(tmp_path: Path) -> None:
    rig = typed(tmp_path, ["it's eighteen units"], {"it's eighteen units": {"18 units": SURE}}, TURNS)
    assert rig.screen.shown[-1] == f"18 units. {RIGHT}"
    assert not rig.session.state.values
    rig.writer.close()


def test_of_two_choices_the_last_is_asked_about(tmp_path: Path) -> None:
    """The first, which was taken back in the same breath, had been taken."""
    said = "left abdomen no right abdomen"
    known = {said: {"[left abdomen]": SURE}}
    rig = typed(tmp_path, ["18 units", said], known, TURNS)
    assert rig.screen.shown[-1] == f"right abdomen. {RIGHT}"
    rig.writer.close()


FIGURE = "i make it zero point one eight milliliters"
KNOWN = {said: {"[0.18 mL]": SURE} for said in (FIGURE, "zero point one eight", FIGURE + " no one point eight")}


def test_a_figure_in_a_sentence_goes_under_seal(tmp_path: Path) -> None:
    rig = typed(tmp_path, TO_VOLUME, KNOWN)
    spoken(rig, FIGURE)
    spoken(rig, FIGURE)
    assert rig.session.state.done[-1].step == "volume"
    assert [event.how for event in events(rig) if isinstance(event, Sealed)] == ["own words"] * 2
    told = "\n".join([*rig.screen.shown, bodies(rig)])
    assert "0.18" not in told and "one eight" not in told
    rig.writer.close()


@pytest.mark.parametrize("said", ["zero point one eight", FIGURE + " no one point eight"])
def test_a_figure_without_its_unit_or_taken_back_is_not_sealed(tmp_path: Path, said: str) -> None:
    """Nobody hears it back, so nothing of it is guessed."""
    rig = typed(tmp_path, TO_VOLUME, KNOWN)
    spoken(rig, said)
    assert isinstance(events(rig)[-1], Missed)
    told = "\n".join([*rig.screen.shown, bodies(rig)])
    assert "0.18" not in told and "one eight" not in told
    rig.writer.close()


def test_several_answers_at_once_are_one_reply(tmp_path: Path) -> None:
    said = "name and birthday both agree"
    rig = typed(tmp_path, [*TO_WHO, said], {said: {"[agrees]": SURE, AGREES: SURE}})
    event = events(rig)[-1]
    assert (event.phrase, event.also) == ("name agrees", ("birthday agrees",))
    assert "Name agrees. Birthday agrees." in rig.screen.shown
    assert rig.session.state.done[-1].step == "who"
    rig.writer.close()


def test_what_is_said_of_one_thing_does_not_answer_for_another(tmp_path: Path) -> None:
    """`Birthday matches`, to the question of the name, had been asked back as `Name agrees`."""
    said = "the birthday is fine"
    rig = typed(tmp_path, [*TO_WHO], {said: {AGREES: SURE, "[agrees]": SURE}})
    spoken(rig, said)
    assert isinstance(events(rig)[-1], Missed)
    assert rig.session.state.here.item == 0
    rig.writer.close()


def test_what_was_said_of_the_next_reading_is_asked_back_in_its_turn(tmp_path: Path) -> None:
    said = "eighteen units in the left abdomen"
    rig = typed(tmp_path, [said, "right"], {said: {"[18 units]": SURE, "[left abdomen]": SURE}}, TURNS)
    assert rig.screen.shown[-1] == f"left abdomen. {RIGHT}"
    assert "site" not in rig.session.state.values
    rig.writer.close()


def test_a_figure_that_was_read_once_is_not_put_to_the_next_reading_of_its_kind(tmp_path: Path) -> None:
    """What the order says must not be what the window shows, before anybody has looked."""
    text = (
        TURNS.read_text("utf-8")
        .replace("medicine:", "# ")
        .replace(
            "{type: choice, choices: [left abdomen, right abdomen, left thigh, right thigh]}",
            "{type: number, unit: units, least: 1, most: 60}",
        )
    )
    twice = tmp_path / "twice.yaml"
    twice.write_text(text, "utf-8")
    rig = typed(tmp_path, ["it's eighteen units", "right"], {"it's eighteen units": {"[18 units]": SURE}}, twice)
    assert rig.screen.shown[-1] == "Which side and part?"
    rig.writer.close()


def test_what_would_end_the_session_is_asked_back_first(tmp_path: Path) -> None:
    rig = typed(tmp_path, [*WHOLE[:-1], "it's me four one"], {"it's me four one": {"[41]": SURE}})
    assert rig.session.state.here.asked_back == ("four one",)
    rig.writer.close()


def test_a_session_goes_on_after_it_stopped_in_the_middle_of_a_question(tmp_path: Path) -> None:
    said = "think i have some on my palms"
    rig = typed(tmp_path, [said], {said: {DONE: LIKELY}})
    rig.writer.close()
    state = timeline(read_record(rig.path)).state
    assert state == rig.session.state and state.here.asked_back == ("rub is in",)
    writer = RecordWriter.reopen(rig.path, rig.clock, own_key(tmp_path / "keys"))
    again = Session(Machine(rig.loaded.procedure), rig.session.room, writer, state=state)
    again.begin(Resumed(at_ms=again.now_ms()))
    assert not again.state.done and not again.state.here.asked_back
    again._reply("rub is in", "key")
    writer.close()
    told = timeline(read_record(rig.path))
    assert told.state == again.state and told.state.done[0].phrase == "rub is in"


def test_what_is_taken_back_is_in_the_record_as_said_and_undone(tmp_path: Path) -> None:
    rig = typed(tmp_path, ["it's on my palms", "no"], {"it's on my palms": {DONE: SURE}})
    assert [type(event) for event in events(rig)[1:]] == [Replied, Replied]
    told = timeline(read_record(rig.path))
    assert told.moments[-1].decided == "to be done again: hands-wet"
    assert told.again == ("hands-wet",) and not told.confirmed
    rig.writer.close()
