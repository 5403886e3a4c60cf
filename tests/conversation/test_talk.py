"""The end of a session as it is told: the receipt is shown and spoken so that it can be written down by ear."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from companion.cli.ending import tell_end
from companion.conversation.turns import announce
from companion.errors import RecordError
from companion.ports.voice import Sign, Speaking, Voice
from companion.record.receipt import read_receipt
from companion.record.verify import verify
from companion.voice.text_voice import TextVoice
from tests.conversation.rig import DRILL, WHOLE, Rig, Typist

KOREAN = DRILL.with_name("drill-ko.yaml")


class Listened:
    """A voice that takes as long as reading does, and remembers what it was given to say."""

    name = "listened to"

    def __init__(self, rig: Rig) -> None:
        self._within: Voice = TextVoice(rig.clock)
        self.said: list[str] = []

    def start(self, text: str) -> Speaking:
        self.said.append(text)
        return self._within.start(text)

    def sign(self, sign: Sign) -> Speaking:
        return self._within.sign(sign)

    def close(self) -> None:
        self._within.close()


def ended(folder: Path) -> Rig:
    rig = Rig(folder, WHOLE)
    rig.run()
    return rig


def test_the_receipt_that_was_spoken_verifies_the_record(tmp_path: Path) -> None:
    rig = ended(tmp_path)
    shown: list[str] = []
    voice = Listened(rig)
    rig.session.room = replace(rig.session.room, voice=voice)
    tell_end(rig.session, rig.writer, shown.append)
    rig.writer.close()
    first, *groups = voice.said
    assert first == "The receipt code, for whoever keeps it." and len(groups) == 4
    heard = " ".join(groups).replace(".", "")
    finding = verify(rig.path, heard)
    assert finding.state == "intact" and "the receipt matches" in finding.reason
    assert any(read_receipt(heard) in line for line in shown)
    assert shown[-1].endswith(str(rig.path))


def test_in_korean_the_end_is_told_in_korean_and_what_was_spoken_verifies_the_record(tmp_path: Path) -> None:
    rig = Rig(tmp_path, ("정지", "끝내기", "맞습니다"), KOREAN)
    rig.run()
    voice = Listened(rig)
    rig.session.room = replace(rig.session.room, voice=voice)
    tell_end(rig.session, rig.writer, lambda _: None)
    rig.writer.close()
    assert len(voice.said) == 5 and not re.search("[A-Za-z]", "".join(voice.said))
    assert verify(rig.path, " ".join(voice.said[1:]).replace(".", "")).state == "intact"


def test_the_record_is_closed_before_a_word_of_it_is_spoken(tmp_path: Path) -> None:
    rig = ended(tmp_path)

    class Breaks(Listened):
        def start(self, text: str) -> Speaking:
            raise RecordError("the power went")

    with pytest.raises(RecordError, match="the power went"):
        rig.session.room = replace(rig.session.room, voice=Breaks(rig))
        tell_end(rig.session, rig.writer, lambda _: None)
    rig.writer.close()
    assert verify(rig.path).entries == rig.writer.last.n + 1 and rig.writer.last.kind == "closed"


def test_a_key_silences_it(tmp_path: Path) -> None:
    rig = ended(tmp_path)
    voice, typist = Listened(rig), Typist([""])
    typist.turn = True
    rig.session.room = replace(rig.session.room, voice=voice, keys=typist)
    tell_end(rig.session, rig.writer, lambda _: None)
    rig.writer.close()
    assert len(voice.said) == 1


def test_without_sound_nothing_waits_for_it(tmp_path: Path) -> None:
    rig = ended(tmp_path)
    before = rig.clock.now_ms()
    announce(rig.session.room, "The receipt code, for whoever keeps it.")
    assert rig.clock.now_ms() == before
    rig.writer.close()
