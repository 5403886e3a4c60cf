"""The figures of the infusion rate check: flow, drops, and the count beside them, from worked examples.

Read: MD0904 (mL/h is volume by hours, drops/min is mL times drop factor by minutes), its questions, and the answers of
the textbooks named beside the rows. The tolerance of a count is common practice.
"""

from fractions import Fraction

import pytest

from companion.errors import ProcedureError
from companion.procedure.loading import load_text
from companion.speech.value_phrases import say_value
from companion.speech.values import Value
from tests.procedures.facts import facts
from tests.procedures.library import FOLDER, procedure, with_policy
from tests.procedures.walking import walk

RATE = procedure("infusion-rate")
GIVEN = dict(facts("infusion-rate").given)


def said(figure: str, unit: str) -> str:
    """A figure as it is spoken."""
    return say_value(Value(type="number", text=figure, unit=unit))


WORKED = [
    # volume in mL, hours, drops/mL, mL/h, drops/min
    ("1500", "6", "10", "250", "42", "MD0904, question read, answer computed: 41.67"),
    ("100", "1", "15", "100", "25", "MD0904, question read, answer computed"),
    ("1500", "24", "60", "63", "63", "MD0904, question read, answer computed: 62.5 rounds up"),
    ("1000", "12", "15", "83", "21", "Silvestri ch. 15, answer read: 20.8"),
    ("1000", "5.5", "15", "182", "45", "Elementary Technical Mathematics 7.1 ex. 63, answer read: 45.45"),
    ("1000", "8", "10", "125", "21", "course handout, answer read: 125 mL/h; 20.8"),
    ("250", "1", "15", "250", "63", "MD0904, question read, answer computed: 62.5 rounds up"),
    ("200", "1", "15", "200", "50", "MD0904, question read, answer computed"),
    ("150", "1", "15", "150", "38", "MD0904, question read, answer computed: 37.5 rounds up"),
]


@pytest.mark.parametrize(("volume", "hours", "factor", "flow", "drops", "source"), WORKED)
def test_worked_examples(volume: str, hours: str, factor: str, flow: str, drops: str, source: str) -> None:
    script = {
        "ordered-volume": said(volume, "mL"),
        "ordered-time": said(hours, "h").replace("-", " "),
        "drop-factor": said(factor, "drops/mL"),
        "flow": said(flow, "mL/h"),
        "drops": said(drops, "drops/min"),
    }
    local = with_policy("infusion-rate", rate_query="500", volume_least="50", volume_most="3000", volume_by="50")
    going = walk(local, script, to="level")
    assert (going.value("flow"), going.value("drops")) == (f"{flow} mL/h", f"{drops} drops/min"), source
    assert going.branches == []
    # a second way to the same figure, apart from the program's own arithmetic
    exact = Fraction(volume) * Fraction(factor) / (Fraction(hours) * 60)
    assert abs(exact - int(drops)) <= Fraction(1, 2)


def test_short_infusions_are_ordered_in_minutes() -> None:
    """MD0904: 100 mL over 30 min with 20 drops/mL are 66.67, so 67; a course handout: 50 mL, 20 min, 10: 25."""
    local = with_policy(
        "infusion-rate", rate_query="500", time_unit="min", time_least="10", time_most="240", time_by="5"
    )
    for volume, minutes, factor, flow, drops in (("100", "30", "20", "200", "67"), ("50", "20", "10", "150", "25")):
        script = {
            "ordered-volume": said(volume, "mL"),
            "ordered-time": said(minutes, "min"),
            "drop-factor": said(factor, "drops/mL"),
        }
        going = walk(local, script, to="level")
        assert (going.value("flow"), going.value("drops")) == (f"{flow} mL/h", f"{drops} drops/min")


@pytest.mark.parametrize(
    ("step", "figure"), [("flow", "120 mL/h"), ("drops", "41 drops/min"), ("drops", "125 drops/min")]
)
def test_a_wrong_figure_is_worked_out_again(step: str, figure: str) -> None:
    """ISMP: neither figure is chosen. 41.67 rounds to 42 (MD0904); 125 is what a set with 60 drops/mL would need."""
    number, unit = figure.split()
    going = walk(RATE, GIVEN, to=step).figure(said(number, unit))
    assert going.branch == "figures-disagree"
    assert going.out_of("figures-disagree").step == "ordered-volume"
    assert "42" not in " ".join(say.text for say in going.walker.says)


@pytest.mark.parametrize(
    ("counted", "branch"),
    [("42", None), ("46", None), ("38", None), ("47", "too-fast"), ("37", "too-slow"), ("0", "not-running")],
)
def test_the_program_judges_the_count(counted: str, branch: str | None) -> None:
    """42 drops/min worked out; 2 over and under, or a tenth where that is more (common practice)."""
    going = walk(RATE, GIVEN, to="counted").read(said(counted, "drops/min"))
    assert going.branch == branch


def test_how_far_apart_is_local_policy() -> None:
    local = with_policy("infusion-rate", most_over="6", most_under="-5")
    assert walk(local, GIVEN, to="counted").read(said("48", "drops/min")).branch is None
    assert walk(local, GIVEN, to="counted").read(said("36", "drops/min")).branch == "too-slow"


@pytest.mark.parametrize(
    ("factor", "drops", "near", "far"),
    [("10", "21", ("19", "23"), ("18", "24")), ("60", "125", ("113", "137"), ("112", "138"))],
)
def test_a_large_figure_may_be_further_off(
    factor: str, drops: str, near: tuple[str, str], far: tuple[str, str]
) -> None:
    """Common practice: 2 drops at 21 drops/min, a tenth (12.5) at 125, of which nobody can count to 2."""
    at = walk(RATE, GIVEN | {"drop-factor": said(factor, "drops/mL")}, to="counted")
    assert at.value("drops") == f"{drops} drops/min"
    assert [at.fork().read(said(count, "drops/min")).branch for count in near] == [None, None]
    assert [at.fork().read(said(count, "drops/min")).branch for count in far] == ["too-slow", "too-fast"]


@pytest.mark.parametrize("factor", ["50", "25", "12"])
def test_only_drop_factors_that_sets_have_can_be_said(factor: str) -> None:
    """MD0904: sets make 10, 15 or 20 drops of a mL, microdrip sets 60; `fifteen` heard as `fifty` errs threefold."""
    at = walk(RATE, GIVEN, to="drop-factor")
    assert said(factor, "drops/mL") not in at.walker.machine.allowed(at.walker.state)


@pytest.mark.parametrize("volume", ["110", "120", "125", "83"])
def test_any_volume_and_an_order_by_the_hour_can_be_given(volume: str) -> None:
    """Common practice: US orders are often in mL/h, which is that volume over one hour."""
    given = {"ordered-volume": said(volume, "mL"), "ordered-time": "one hour"}
    assert walk(RATE, GIVEN | given, to="suits").value("flow") == f"{volume} mL/h"


def test_a_count_cannot_stand_beside_a_figure_that_may_be_left_out() -> None:
    text = (FOLDER / "infusion-rate.yaml").read_text(encoding="utf-8")
    once = "    critical: true\n    formula: drops\n"
    assert text.count(once) == 1
    with pytest.raises(ProcedureError, match=r"`beside` names `drops`, which is not critical"):
        load_text(text.replace(once, "    formula: drops\n"))


def test_the_working_is_said_once_the_figure_agrees_and_not_before() -> None:
    """MD0904: drops/min is mL times drop factor by minutes; 1000 mL over 8 h with 20 drops/mL are 41.67, so 42."""
    going = walk(RATE, GIVEN, to="drops")
    before = " ".join(say.text for say in going.walker.says)
    assert "divided by 8 hours is 125 mL per hour" in before and "drops per minute" not in before
    going.figure(said("42", "drops/min"))
    assert "Rounded to a whole number, half up: 42 drops per minute." in " ".join(going.walker.texts())
    wrong = walk(RATE, GIVEN, to="drops").figure(said("41", "drops/min"))
    assert "42" not in " ".join(say.text for say in wrong.walker.says)
