"""What the page is given of a session in Korean."""

from pathlib import Path

from companion.procedure.loading import load
from companion.web.snapshot import Asking, asking, caution_of, place_of
from tests.walk import Walker

KOREAN = load(Path(__file__).parent.parent / "data" / "drill-ko.yaml").procedure


def test_a_caution_is_shown_once_and_where_the_session_stands_in_korean() -> None:
    """The caution, which stands in a place of its own, was shown once more beside what is asked."""
    walker = Walker(KOREAN, performer="")
    walker.replies("사 일", "맞습니다")
    assert walker.step == "hands" and any("손이 젖어" in say.text for say in walker.last)
    shown = asking(walker.machine, walker.state, walker.state, walker.last, Asking())
    assert caution_of(walker.machine, walker.state) == "손이 젖어 있으면 안 됩니다."
    assert "손이 젖어" not in " ".join((shown.instruction, *shown.asked, shown.remark))
    assert place_of(walker.machine, walker.state).where == "9단계 가운데 1번째"
