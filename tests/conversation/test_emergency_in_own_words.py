"""An emergency in own words is not kept waiting, whatever is asked, and a mere no does not call it off."""

from pathlib import Path

import pytest

from tests.conversation.rig import DRILL, WHOLE, Rig, spoken, typed

STUCK, REFUSES = "i have just stuck myself", "she won't have it"
SURE = {STUCK: {"leading to: Needle-stick": 3.0}, REFUSES: {"leading to: The person says no": 3.0}}
LIKELY = {STUCK: {"leading to: Needle-stick": -0.5}}


@pytest.fixture
def urgent(tmp_path: Path) -> Path:
    """The drill with a needle-stick that is an emergency."""
    path = tmp_path / "urgent.yaml"
    text = DRILL.read_text("utf-8").replace("heard: [needle", "emergency: yes\n    heard: [needle")
    path.write_text(text, "utf-8")
    return path


def _step(rig: Rig) -> str:
    step = rig.session.machine.current(rig.session.state)
    return "" if step is None else step.id


@pytest.mark.parametrize(
    "before",
    [
        WHOLE[:6],
        (*WHOLE[:8], "18 units"),
        WHOLE[:11],
        (*WHOLE[:6], "pause"),
        (*WHOLE[:6], "pause", "resume"),
        (*WHOLE[:6], "stop", "end it"),
    ],
)
def test_what_is_sure_counts_whatever_is_asked(tmp_path: Path, urgent: Path, before: tuple[str, ...]) -> None:
    """Also in a break, before a read-back is answered, and while a figure is under seal."""
    rig = typed(tmp_path, before, SURE, urgent)
    spoken(rig, STUCK)
    assert _step(rig) == "wash"
    rig.writer.close()


def test_in_a_break_nothing_but_an_emergency_counts_in_own_words(tmp_path: Path, urgent: Path) -> None:
    rig = typed(tmp_path, [*WHOLE[:6], "pause"], SURE, urgent)
    spoken(rig, REFUSES)
    assert rig.session.state.status == "held"
    rig.writer.close()


def test_what_is_likely_is_asked_back_and_the_same_once_more_is_answer_enough(tmp_path: Path, urgent: Path) -> None:
    """Said again, it had been refused, since it was asked back last."""
    rig = typed(tmp_path, WHOLE[:6], LIKELY, urgent)
    spoken(rig, STUCK)
    assert rig.session.state.here.asked_back == ("needle stick injury",)
    spoken(rig, STUCK)
    assert _step(rig) == "wash"
    rig.writer.close()


def test_what_is_likely_is_asked_back_before_a_read_back_is_answered(tmp_path: Path, urgent: Path) -> None:
    """And the answer to it is none to the read-back."""
    rig = typed(tmp_path, [*WHOLE[:8], "18 units"], LIKELY, urgent)
    heard = rig.screen.shown[-1]
    spoken(rig, STUCK)
    assert rig.session.state.here.asked_back == ("needle stick injury",)
    rig.session._typed("no")
    assert _step(rig) == "ordered" and not rig.session.state.values
    assert rig.session.machine.question(rig.session.state) == heard
    rig.session._typed("yes")
    assert rig.session.state.values["ordered"].written() == "18 units"
    rig.writer.close()


def test_what_was_no_emergency_may_become_one(tmp_path: Path, urgent: Path) -> None:
    """Anything else is not asked back twice in a row."""
    rig = typed(tmp_path, WHOLE[:6], LIKELY, urgent)
    spoken(rig, STUCK)
    rig.session._typed("no")
    spoken(rig, STUCK)
    assert rig.session.state.here.asked_back == ("needle stick injury",)
    rig.writer.close()


def test_a_mere_no_is_answered_by_what_counts_and_calls_nothing_off(tmp_path: Path, urgent: Path) -> None:
    rig = typed(tmp_path, WHOLE[:6], SURE, urgent)
    spoken(rig, STUCK)
    spoken(rig, "no")
    assert _step(rig) == "wash"
    assert "completely wrong" in rig.session.machine.offers(rig.session.state).phrases()
    rig.session._typed("completely wrong")
    assert _step(rig) == "who"
    rig.writer.close()
