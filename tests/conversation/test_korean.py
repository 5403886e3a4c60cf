"""What a session in Korean shows on the screen is Korean; what is said and not taken is invented."""

import re
from pathlib import Path

import pytest

from companion.errors import UsageError
from companion.hearing.scripted import ScriptedRecogniser
from companion.ports.recogniser import Expected, Hearing
from tests.conversation.rig import DRILL, Rig
from tests.conversation.test_signs import SomebodyTalks

KOREAN = DRILL.with_name("drill-ko.yaml")


def latin(shown: list[str]) -> list[str]:
    """What holds a word in Latin letters; the rig itself puts `missed`, `notice`, `key` and `voice` before."""
    texts = [re.sub("^(missed|notice|key|voice): ", "", text) for text in shown]
    return [text for text in texts if re.search("[A-Za-z]", text)]


def heard(said: str, *phrases: str) -> Hearing:
    """What an engine for Korean makes of an utterance."""
    listening = ScriptedRecogniser([said], language="ko-KR").listen(Expected(phrases, decoys=("두 손이 젖었습니다",)))
    return listening.finish()


def test_why_a_reply_is_not_taken_is_shown_in_korean(tmp_path: Path) -> None:
    """The reasons had stood in English on the screen of a session that was Korean otherwise."""
    rig = Rig(tmp_path, ["모르겠습니다"], KOREAN)
    rig.session._spotter = SomebodyTalks()
    with pytest.raises(UsageError):
        rig.run()
    for said in ("", "오늘 날씨가 좋습니다", "두 손이 젖었습니다"):
        rig.session._hear(heard(said, "소독제를 받았습니다"))
    rig.session._lose_microphone("마이크")
    rig.writer.close()
    missed = [text for text in rig.screen.shown if text.startswith("missed: ")]
    assert len(missed) == 5 and any("말소리가 들리지 않았습니다" in text for text in missed)
    assert any("너무 일찍" in text for text in missed) and any("‘모르겠습니다’" in text for text in missed)
    assert "notice: 마이크. 같은 말을 자판으로 칠 수 있습니다" in rig.screen.shown
    assert latin(rig.screen.shown) == []


def test_a_typed_line_that_is_no_value_is_refused_in_korean(tmp_path: Path) -> None:
    """`one of the choices; accepted` had stood beside the Korean question."""
    begun = ["소독제를 받았습니다", "맞습니다", "", "", "", "두 손이 말랐습니다", "이름이 같습니다", "생일이 같습니다"]
    rig = Rig(tmp_path, [*begun, "등", "왼쪽 팔", "맞습니다", "5", "몰라요"], KOREAN)
    with pytest.raises(UsageError):
        rig.run()
    rig.writer.close()
    missed = [text for text in rig.screen.shown if text.startswith("missed: ")]
    for line, offered in (("등", "왼쪽 팔"), ("5", "직원 번호"), ("몰라요", "직원 번호")):
        assert [text for text in missed if f"‘{line}’" in text and offered in text], line
    assert latin(rig.screen.shown) == []
