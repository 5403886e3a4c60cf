"""When the tones after speech that was not taken sound, and before what. Distances are a design choice of ours."""

from pathlib import Path

import pytest

from companion.conversation.signs import Signs
from companion.errors import UsageError
from companion.machine.asking import why_not
from companion.ports.sound import Samples
from companion.ports.voice import Sign, Speaking
from companion.voice.text_voice import TextVoice
from tests.conversation.rig import Rig


def test_tones_keep_their_distance_and_more_in_running_talk() -> None:
    signs = Signs()
    assert signs.due(0, row=1, held=False)
    assert [signs.due(at_ms, row=2, held=False) for at_ms in (1_000, 3_000, 5_000)] == [False, False, True]
    talk = sum(signs.due(5_000 + 2_000 * n, row=4 + n, held=False) for n in range(30))
    assert talk <= 3, "a minute of talk"
    signs.forget()
    assert signs.due(66_000, row=1, held=False), "something was taken in between"
    assert not signs.due(80_000, row=1, held=True), "people talk while it is held"


@pytest.mark.parametrize(
    ("verdict", "nearest", "language", "told"),
    [
        ("unclear", "yes longer valid", "en-US", "it was not clear enough"),
        ("other", "yes longer valid", "en-US", "it was none of the phrases"),
        ("unclear", "still valid", "en-US", "it sounded like `still valid`"),
        ("unclear", "yes longer valid", "ko-KR", "분명하게 들리지 않았습니다"),
        ("other", "yes longer valid", "ko-KR", "여기서 할 수 있는 말이 아니었습니다"),
    ],
)
def test_what_nobody_may_say_is_told_to_nobody(verdict: str, nearest: str, language: str, told: str) -> None:
    """A near miss that a recogniser compares with had been shown as what was heard."""
    assert (
        why_not(verdict, nearest, f"it sounded like `{nearest}`", ("still valid", "no longer valid"), language) == told
    )


def test_a_reply_that_came_near_has_its_tone_each_time() -> None:
    """A nurse said the one reply of a step again and again, not quite clearly, and heard nothing for twenty seconds."""
    signs = Signs()
    assert all(signs.due(2_200 * n, row=n + 1, held=False, near=True) for n in range(12))
    assert not signs.due(26_000, row=13, held=False), "that was talk"


def test_a_reply_refused_right_after_talk_that_came_too_early_has_its_own_tone() -> None:
    """One that was refused three seconds after the program's "too early" had passed without any sound."""
    signs = Signs()
    assert signs.due(42_300, row=0, held=False, sign="too early")
    assert signs.due(45_300, row=1, held=False, sign="not taken")
    assert not signs.due(47_000, row=2, held=False, sign="not taken")
    talk = [signs.due(50_000 + 2_000 * n, 5, False, ("not taken", "too early")[n % 2]) for n in range(30)]
    assert sum(talk) <= 3, "a minute of talk over the program and between"


class SomebodyTalks:
    """Over the first prompt only."""

    def __init__(self) -> None:
        self._talks = True

    def feed(self, _: Samples) -> bool:
        return False

    def talked(self) -> bool:
        talks, self._talks = self._talks, False
        return talks


def test_who_came_too_early_is_told_before_it_is_their_turn(tmp_path: Path) -> None:
    """Five of five answers given while it spoke had been lost without a mark."""
    rig = Rig(tmp_path, ["rub is in"])
    heard = rig.screen.shown

    class Voice(TextVoice):
        def sign(self, sign: Sign) -> Speaking:
            heard.append(f"tone: {sign}")
            return super().sign(sign)

    rig.session._prompts._voice = Voice(rig.clock)
    rig.session._spotter = SomebodyTalks()
    with pytest.raises(UsageError):
        rig.run()
    rig.writer.close()
    missed = next(n for n, text in enumerate(heard) if text.startswith("missed: that came too early"))
    assert heard[missed + 1] == "tone: too early"
    assert heard.index("key: rub is in") > missed + 1
    assert sum(text.startswith("tone") for text in heard) == 1
