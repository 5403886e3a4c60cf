"""A procedure in Korean is Korean throughout: nothing that is said in it holds a word in Latin letters.

The drill is made up; it goes through every kind of step but the calculation, whose figures are said in English only."""

import re
from pathlib import Path

import pytest

from companion.machine.machine import Machine
from companion.procedure.loading import load
from companion.session.events import Missed, Silent
from tests.walk import Walker

KOREAN = load(Path(__file__).parent.parent / "data" / "drill-ko.yaml").procedure


def korean(walker: Walker) -> bool:
    latin = [text for text in walker.heard() if re.search(r"[A-Za-z]", text)]
    assert not latin, latin
    return True


def miss(walker: Walker) -> None:
    walker.take(Missed(at_ms=walker.now, why="unclear", reason="", told=True))


def about(walker: Walker) -> None:
    """Everything that may be asked at a step."""
    for _ in range(3):
        miss(walker)
    walker.take(Silent(at_ms=walker.now))
    for words in ("도움", "다시", "왜"):
        if words in walker.machine.allowed(walker.state):
            walker.reply(words)


def paused(walker: Walker) -> None:
    walker.reply("잠깐")
    about(walker)
    walker.reply("계속")
    if walker.state.status == "restating":
        about(walker)
        walker.reply("그대로입니다")


@pytest.fixture
def walker() -> Walker:
    walker = Walker(KOREAN, performer="")
    about(walker)
    walker.replies("사 일", "틀립니다", "사 일")
    about(walker)
    walker.reply("맞습니다")
    assert walker.step == "hands"
    return walker


def to_side(walker: Walker) -> None:
    walker.replies("소독제를 받았습니다", "맞습니다")
    walker.wait(50)
    walker.replies("두 손이 말랐습니다", "이름이 같습니다", "생일이 같습니다")
    assert walker.step == "side"


def test_the_whole_drill_is_said_in_korean(walker: Walker) -> None:
    about(walker)
    walker.reply("뒤로")
    walker.reply("소독제를 받았습니다")
    about(walker)
    walker.replies("틀립니다", "소독제를 받았습니다", "맞습니다")
    walker.reply("두 손이 말랐습니다")
    about(walker)
    walker.wait(30)
    walker.wait(70)
    paused(walker)
    walker.reply("두 손이 말랐습니다")
    walker.reply("뒤로")
    walker.wait(1)
    walker.replies("두 손이 말랐습니다", "이름이 같습니다", "생일이 같습니다")
    about(walker)
    walker.replies("알 수 없는 쪽", "맞습니다", "의사에게 물었습니다", "알 수 없는 쪽", "맞습니다")
    assert walker.step == "checked"
    about(walker)
    walker.replies("사 일", "오 이", "틀립니다", "오 이")
    about(walker)
    walker.replies("맞습니다", "왼쪽 팔", "틀립니다", "왼쪽 팔", "맞습니다", "둘 다 보았습니다")
    walker.replies("알 수 없는 쪽", "맞습니다")
    assert walker.step == "motions"
    walker.wait(0)
    walker.reply("모두 움직였습니다")
    walker.wait(20)
    walker.replies("모두 움직였습니다", "건너뛰기", "전화가 옵니다", "전화를 받았습니다")
    assert walker.step == "look"
    walker.replies(
        "아무것도 없습니다", "피가 멎었습니다", "피가 납니다", "눌렀습니다 지금", "피가 납니다", "도움을 불렀습니다"
    )
    walker.interrupt()
    about(walker)
    walker.reply("아닙니다")
    walker.reply("쟁반을 치웠습니다")
    walker.wait(12)
    walker.replies("아무것도 없습니다", "칠 공")
    about(walker)
    walker.reply("사 일")
    assert walker.state.status == "finished" and korean(walker)


def test_an_abandoned_and_a_broken_off_drill_end_in_korean(walker: Walker) -> None:
    walker.replies("소독제를 받았습니다", "맞습니다")
    walker.wait(50)
    walker.replies("두 손이 말랐습니다", "이름이 다릅니다", "물러섰습니다", "맞습니다")
    assert walker.state.status == "abandoned" and korean(walker)
    other = Walker(KOREAN)
    other.replies("정지", "끝내기")
    about(other)
    other.replies("틀립니다", "끝내기", "맞습니다")
    assert other.state.status == "abandoned" and korean(other)


def test_what_its_own_questions_offer_is_korean() -> None:
    assert {Machine(KOREAN).words[name][0] for name in ("right", "stands")} == {"맞습니다", "그대로입니다"}
