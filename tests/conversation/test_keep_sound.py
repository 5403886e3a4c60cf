"""Sound is kept only after every voice agreed, of replies alone, and each clip is bound to the record. What people say
is invented; agreement of everybody before recording is common practice."""

import json
import os
import re
import stat
from decimal import Decimal
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.conversation.consent import AGREE, COUNTS, REFUSALS, WRONG_TAG, Given
from companion.exports.formats import FORMATS
from companion.exports.source import load_source
from companion.exports.xapi import statements
from companion.record.clips import AGREEMENT, agreed_tags, clips_of, read_clip, sound_folder
from companion.record.keys import own_key
from companion.record.purge import purge
from companion.record.reader import read_record
from companion.record.verify import Finding, verify
from companion.review.timeline import timeline
from tests.conversation.soundkeeping import ALONE, DATA, SHORT, Room
from tests.exports.code_lists import strangers
from tests.hearing.synthetic_speech import flite
from tests.realparts import need
from tests.record.test_purge import found_in


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of a session that kept its sound, one misheard reply in it."""
    room = Room(tmp_path_factory.mktemp("kept"))
    reached = room.agree(ALONE)
    assert reached == Given(("41",), ("voice",)), room.screen.shown
    replies = {**SHORT, "First the name.": ["good morning everybody", "name matches"]}
    return room.end(room.begin(reached, replies))


def checked(path: Path) -> Finding:
    return verify(path, None, {own_key(path.parents[1] / "keys").public})


def copy_of(kept: Path, home: Path) -> Path:
    """A copy that may be spoilt."""
    import shutil

    shutil.copytree(kept.parents[1], home, dirs_exist_ok=True)
    return home / "records" / kept.name


def test_every_reply_has_its_clip_and_nothing_else_has(kept: Path) -> None:
    record = read_record(kept)
    clips = clips_of(record.entries)
    events = {entry.n: entry.body["event"] for entry in record.entries if entry.kind == "event"}
    told = {moment.n: moment for moment in timeline(record).moments}
    replied = [n for n, event in events.items() if event["kind"] == "replied"]
    unclear = [n for n, event in events.items() if event["kind"] == "missed" and event["why"] == "unclear"]
    assert [clip.of for clip in clips] == sorted(replied + unclear) and len(replied) == 7
    # Each clip holds what its entry says was heard: the sound that was played into the room is found in it
    for clip in clips:
        if clip.of in replied:
            spoken = flite(events[clip.of]["phrase"]).astype(float)
            heard = read_clip(kept, clip).astype(float)
            match = np.correlate(np.pad(heard, spoken.size), spoken).max() / (spoken @ spoken)
            assert match > 0.8, told[clip.of].heard
    assert record.entries[1].kind == AGREEMENT and agreed_tags(record.entries) == ("41",)
    assert record.entries[1].body == {"state": "given", "voices": 1, "tags": ["41"], "by": ["voice"]}
    for clip in clips:
        assert next(entry.n for entry in record.entries if entry.body.get("file") == clip.file) > clip.of


def test_clips_are_flac_for_their_owner_alone(kept: Path) -> None:
    folder = sound_folder(kept)
    if os.name == "posix":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for path in folder.iterdir():
        # Independently: libsndfile's own reading of the header
        about = soundfile.info(path)
        assert (about.format, about.samplerate, about.channels, about.subtype) == ("FLAC", 16_000, 1, "PCM_16")
        assert os.name != "posix" or stat.S_IMODE(path.stat().st_mode) == 0o600


def test_verify_finds_what_is_missing_changed_or_added(kept: Path, tmp_path: Path) -> None:
    path = copy_of(kept, tmp_path)
    whole = checked(path)
    assert whole.state == "intact" and f"{len(clips_of(read_record(path).entries))} sound clips whole" in whole.reason
    folder = sound_folder(path)
    second = folder / "0002.flac"
    data = second.read_bytes()
    second.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    finding = checked(path)
    assert finding.state == "sound" and not finding.ok
    assert "1 is changed (0002.flac)" in finding.reason and "the sound kept beside it cannot" in finding.meaning
    second.unlink()
    assert "1 is missing (0002.flac)" in checked(path).reason
    second.write_bytes(data)
    (folder / "0099.flac").write_bytes(data)
    assert "1 is named by no entry (0099.flac)" in checked(path).reason
    (folder / "0099.flac").unlink()
    second.unlink()
    second.symlink_to(folder / "0003.flac")
    assert "1 is changed" in checked(path).reason
    second.unlink()
    second.write_bytes(data)
    assert checked(path).state == "intact"


def test_exports_are_the_same_with_and_without_sound(kept: Path, tmp_path: Path) -> None:
    """Validated by webvtt-py, ralph-malph's models and fhir.resources; a session without sound is the measure."""
    for name in ("webvtt", "ralph", "fhir"):
        need(find_spec(name) is not None, f"{name} is missing: pip install 'procedure-companion[dev]'")
    import webvtt
    from fhir.resources.bundle import Bundle
    from fhir.resources.R4B.bundle import Bundle as Older
    from ralph.models.xapi.base.statements import BaseXapiStatement

    room = Room(tmp_path)
    replies = {**SHORT, "First the name.": ["good morning everybody", "name matches"]}
    silent = load_source(room.end(room.begin(None, replies)))
    sounding = load_source(kept)
    captions = [
        [cue.text for cue in webvtt.from_string(FORMATS["captions"].make([source]).decode()).captions]
        for source in (sounding, silent)
    ]
    assert captions[0] == captions[1]
    verbs = [[one["verb"]["id"] for one in statements(source)] for source in (sounding, silent)]
    assert verbs[0] == verbs[1]
    for one in statements(sounding):
        BaseXapiStatement.model_validate(one)
    for name, model in (("fhir-r4b", Older), ("fhir-r5", Bundle)):
        text = FORMATS[name].make([sounding]).decode()
        model.model_validate_json(text)
        made = json.loads(text, parse_int=Decimal, parse_float=Decimal)
        assert list(strangers(made, name[5:].upper())) == []


def test_purging_destroys_the_sound(kept: Path, tmp_path: Path) -> None:
    path = copy_of(kept, tmp_path)
    from companion.clocks import RealClock

    with (sound_folder(path) / "0001.flac").open("rb") as held:
        purge(path, "retention", RealClock(), own_key(tmp_path / "keys"))
        assert held.read() == b""
    assert list(path.parent.iterdir()) == [path]
    assert found_in(path.parent, ["fLaC", "tray is complete", "0001.flac"]) == []
    assert "purged, chain intact" in checked(path).sentence()


@pytest.mark.parametrize(
    ("replies", "why"),
    [
        (("i want no recording",), "not everybody agreed"),
        (("one person here", "four one", "i do not agree to recording"), "not everybody agreed"),
        (("two people here", "four one", "i agree to recording", "five two", "i refuse"), "not everybody agreed"),
        (("one person here", "four one"), "nobody answered clearly"),
        (("two people here", "four one", "i agree to recording"), "nobody answered clearly"),
        ((), "nobody answered clearly"),
    ],
)
def test_without_everybodys_clear_word_no_sound_is_kept(tmp_path: Path, replies: tuple[str, ...], why: str) -> None:
    room = Room(tmp_path)
    reached = room.agree(replies)
    assert reached == why, room.screen.shown
    path = room.end(room.begin(reached, SHORT))
    assert not sound_folder(path).exists()
    assert read_record(path).entries[1].body == {"state": "none", "why": why}
    assert timeline(read_record(path)).state.status == "finished"
    assert checked(path).state == "intact"


def test_where_the_question_cannot_be_asked_that_is_told_in_korean_and_no_sound_is_kept(tmp_path: Path) -> None:
    """In a session in Korean it was told in English why no sound is kept."""
    room = Room(tmp_path, DATA / "drill-ko.yaml")
    reached = room.agree(ALONE)
    assert isinstance(reached, str) and room.said == []
    room.begin(reached, {})
    (told,) = [text for text in room.screen.shown if "소리를" in text]
    assert reached in told and not re.search("[A-Za-z]", told.removeprefix("notice: "))
    assert agreed_tags(read_record(room.writer.path).entries) == ()
    room.writer.close()
    room.ear.close()


def test_two_people_agree_and_a_tag_that_was_misheard_is_asked_for_again(tmp_path: Path) -> None:
    room = Room(tmp_path)
    replies = ("two people here", "four two", WRONG_TAG, "four one", AGREE, "four one", "five two", AGREE)
    assert room.agree(replies) == Given(("41", "52"), ("voice", "voice")), room.screen.shown
    assert room.said == list(replies), "the same tag is not taken twice"
    room.ear.close()


def test_a_question_never_holds_an_answer_to_it(tmp_path: Path) -> None:
    """Else the program's own voice could agree (house rule)."""
    room = Room(tmp_path)
    room.agree(("two people here", "four one", AGREE, "five two", AGREE))
    asked = [" ".join(text.lower().replace(",", "").replace(".", "").split()) for text in room.screen.shown]
    for text in asked:
        if ":" not in text[:8]:  # "voice: ..." is what was heard
            assert not [phrase for phrase in (*COUNTS, AGREE, *REFUSALS, WRONG_TAG) if phrase in text], text
    room.ear.close()


def test_it_can_be_taken_back_at_any_time(tmp_path: Path) -> None:
    room = Room(tmp_path)
    reached = room.agree(ALONE)
    replies = {**SHORT, "How much is ordered?": ["delete all recordings"]}
    replies["All recordings are deleted, and no more sound is kept."] = ["eighteen units"]
    path = room.end(room.begin(reached, replies))
    record = read_record(path)
    assert any(entry.kind == "sound" for entry in record.entries)
    assert (clips_of(record.entries), agreed_tags(record.entries)) == ((), ())
    assert not sound_folder(path).exists()
    assert timeline(record).state.status == "finished"
    assert checked(path).state == "intact"


def test_resuming_keeps_what_was_agreed_and_clears_what_the_interruption_left(tmp_path: Path) -> None:
    room = Room(tmp_path)
    session = room.begin(room.agree(ALONE), SHORT)
    while not any("How much is ordered?" in text for text in room.screen.shown):
        session.turn()
    room.close()
    path = room.writer.path
    before = [clip.file for clip in clips_of(read_record(path).entries)]
    assert len(before) >= 3 and checked(path).state == "open"
    left = sound_folder(path) / f"{len(before) + 1:04}.flac"  # durable, and the power went before its entry
    left.write_bytes(b"half a clip")
    assert checked(path).state == "open"

    room = Room(tmp_path)
    restated = "The session was interrupted. Last confirmed was: Two identifiers. Is that so still, or not?"
    path = room.end(room.go_on(path, {**SHORT, restated: ["still valid"]}))
    record = read_record(path)
    assert "notice: Replies are kept as sound, as agreed by tag 41." in room.screen.shown
    clips = clips_of(record.entries)
    assert [clip.file for clip in clips][: len(before)] == before and len(clips) >= len(before) + 3
    assert read_clip(path, clips[len(before)]).size > 8000, "the name that was left over is used anew"
    assert checked(path).state == "intact" and timeline(record).state.status == "finished"


def test_nobody_is_asked_unless_it_was_wanted(tmp_path: Path) -> None:
    room = Room(tmp_path)
    path = room.end(room.begin(None, SHORT))
    assert not sound_folder(path).exists()
    assert {entry.kind for entry in read_record(path).entries} == {"opened", "event", "closed"}
