"""Insulin by pen: what is said at any moment, and no way out that skips what the patient needs.

Sources as in `test_insulin_pen.py`: what stands there as read or from memory does so here.
"""

import pytest

from companion.procedure.due import is_due
from tests.procedures.insulin import PEN
from tests.procedures.insulin import PEN_GIVEN as GIVEN
from tests.procedures.test_insulin_pen import NOT_DUE
from tests.procedures.walking import walk

DUE = [step.id for step in PEN.steps if step.id not in NOT_DUE]
NEEDLE = DUE[DUE.index("attach-needle") : DUE.index("watch-site") + 1]


def test_those_are_the_steps_that_are_due() -> None:
    values = walk(PEN, GIVEN).walker.state.values
    assert [step.id for step in PEN.steps if is_due(PEN, values, step)] == DUE


@pytest.mark.parametrize("step", DUE)
def test_emergency_and_severe_reaction_can_be_told_at_every_step(step: str) -> None:
    """Resuscitation Council UK 2021: help, breathing, compressions first; epinephrine at once."""
    at = walk(PEN, GIVEN, to=step)
    first = " ".join(at.fork().say("stopped breathing").walker.texts())
    assert "chest compressions" in first and "only while breathing normally" in first
    assert "0.5 mg epinephrine" in " ".join(at.say("severe reaction").walker.texts())


@pytest.mark.parametrize("step", NEEDLE)
def test_a_needle_stick_can_be_told_wherever_there_is_a_needle(step: str) -> None:
    """WHO toolkit 2010."""
    going = walk(PEN, GIVEN, to=step).say("i pricked myself").to_end()
    assert {"stick-safe", "stick-wash", "stick-colleague", "stick-report"} <= set(going.done)


def test_epinephrine_is_called_for_again_every_five_minutes() -> None:
    """Resuscitation Council UK 2021: again after 5 minutes if it is no better; after two doses without effect more help
    is needed, and the dose goes on meanwhile."""
    going = walk(PEN, GIVEN, to="watch-site").say("severe reaction", "epinephrine is in").wait(299)
    assert not any("in the other thigh" in text for text in going.walker.heard())
    going.wait(1)
    assert sum("in the other thigh" in text for text in going.walker.heard()) == 1
    going.wait(300)
    assert sum("in the other thigh" in text for text in going.walker.heard()) == 2
    assert going.step == "no-better-tell"
    going.say("team is told").wait(300)
    assert sum("in the other thigh" in text for text in going.walker.heard()) == 3
    assert going.step == "epinephrine-watch"


@pytest.mark.parametrize("step", ["inject", "hold"])
@pytest.mark.parametrize(
    "word", ["needle came out", "button will not move", "stopped breathing", "severe reaction", "needle stick"]
)
def test_after_the_needle_no_way_out_skips_sharps_hands_and_record(step: str, word: str) -> None:
    """WHO toolkit 2010; what was given is written down: common practice."""
    done = set(walk(PEN, GIVEN, to=step).say(word).to_end().done)
    assert done & {"emergency-sharps", "reaction-sharps", "partly-safe", "stick-safe"}
    assert done & {"emergency-watched", "epinephrine-watch", "partly-watch", "stick-colleague"}
    assert done & {"emergency-hands", "reaction-hands", "partly-hands", "stick-wash"}
    assert done & {"emergency-record", "reaction-record", "partly-record", "stick-colleague"}


def test_an_error_noticed_afterwards_is_told_and_the_rest_is_done() -> None:
    """ISMP 2017."""
    going = walk(PEN, GIVEN, to="watch-site").say("wrong insulin given").out_of("error-noticed")
    assert {"error-act", "error-glucose", "error-report"} <= set(going.done)
    assert going.to_end().status == "finished"


def test_whoever_leaves_a_pen_made_ready_begins_again_with_the_name() -> None:
    """NPSG.01.01.01: identified at the bedside; the second identification went with the walk to the bed."""
    going = walk(PEN, GIVEN, to="dial").say("called away").out_of("called-away-with-dose")
    assert going.step == "hands-before-patient"
    assert going.to_end().asked.count("identify") == 2


def test_dirt_is_washed_off_and_clean_skin_needs_nothing() -> None:
    """WHO toolkit 2010, FIT UK 2016: soap and water for soiled skin, no swab for clean skin."""
    assert "skin-clean" not in walk(PEN, GIVEN).asked
    assert walk(PEN, GIVEN, to="site-fit").say("dirt on it", "skin is clean").step == "site-fit"
