"""A vaccine into the deltoid: what is said at any moment, and no way out that skips what the patient needs.

Sources as in `test_vaccine_deltoid.py`.
"""

import pytest

from tests.procedures.test_vaccine_deltoid import GIVEN, VACCINE, told
from tests.procedures.walking import walk

DEEDS = ("Call for help", "Flat, legs raised", "Epinephrine 0.5 mg of 1 mg/mL", "outer thigh, now", "compressions")


@pytest.mark.parametrize("step", [step.id for step in VACCINE.steps if step.id not in ("no-fever", "syringe-ready")])
def test_a_severe_reaction_and_an_emergency_are_told_at_any_step_and_begin_with_deeds(step: str) -> None:
    """Resuscitation Council UK 2021 (from memory): lie flat, 0.5 mg into the outer thigh, and for whoever is
    unresponsive without normal breathing chest compressions, on the side only when breathing is normal."""
    going = walk(VACCINE, GIVEN, to=step)
    emergency = going.fork().say("not breathing")
    first = " ".join(emergency.walker.texts())
    assert emergency.branch == "emergency"
    assert first.index("Call for help") < first.index("compressions now") < first.index("on the side")
    first = " ".join(going.say("severe reaction").walker.texts())
    assert [first.index(deed) for deed in DEEDS] == sorted(first.index(deed) for deed in DEEDS)


def test_epinephrine_is_called_for_again_by_itself() -> None:
    """Resuscitation Council UK 2021: again after 5 minutes; after two in vain, an expert (from memory)."""
    going = walk(VACCINE, GIVEN, to="observe").say("severe reaction", "epinephrine was given")
    assert going.step == "reaction-stay"
    assert "again" not in going.wait(4 * 60 + 59).walker.texts()
    before = len(going.walker.says)
    going.wait(2)
    assert "If no better, epinephrine 0.5 mg again" in going.walker.says[before].text
    assert going.wait(5 * 60).step == "no-better-tell"
    assert going.out_of("no-better").step == "reaction-stay"


def test_a_drop_that_leaks_out_is_no_lost_dose_and_everything_goes_on() -> None:
    """Immunize.org (from memory): nothing is repeated; the watch, hands and record are not skipped."""
    going = walk(VACCINE, GIVEN, to="watch-site").say("vaccine leaks out")
    assert going.branch == "leaked"
    assert going.to_end().status == "finished"
    assert {"hands-after", "document", "observe", "well-after"} <= set(going.done)


def test_a_faint_while_watched_does_not_begin_the_time_anew() -> None:
    """Common practice: the fifteen minutes count from the injection, whatever happens meanwhile."""
    going = walk(VACCINE, GIVEN, to="observe").wait(10 * 60).say("fainting now").out_of("fainting")
    assert going.step == "observe"
    assert going.wait(5 * 60).say("patient was watched").step == "well-after"


def test_a_part_of_a_dose_is_never_topped_up_and_the_patient_is_watched() -> None:
    """ACIP (from memory): a partial dose does not count; whether it is repeated in full is for the prescriber."""
    going = walk(VACCINE, GIVEN, to="inject").say("patient pulled away")
    begun = going.walker.now
    going.out_of("interrupted-dose")
    assert "top up nothing" in told(going)
    assert going.status == "abandoned"
    assert {"partly-safe", "partly-hands", "partly-write", "partly-watch", "partly-well"} <= set(going.done)
    assert going.walker.now - begun >= 15 * 60_000


def test_who_is_stuck_after_the_needle_was_in_does_not_leave_the_patient_unwatched() -> None:
    """US Public Health Service 2001: wash and report at once; ACIP: the patient is watched for 15 minutes."""
    for step in ("sharps", "observe"):
        going = walk(VACCINE, GIVEN, to=step).say("i pricked myself").out_of("needle-stick-later")
        assert (going.status, going.step) == ("running", step)
    going = walk(VACCINE, GIVEN | {"partly-stuck": ("i pricked myself", "injury was seen to")}, to="inject")
    assert going.say("i pricked myself").branch == "interrupted-dose"
    assert going.out_of("interrupted-dose").status == "abandoned" and "partly-watch" in going.done


def test_who_bleeds_easily_gets_it_only_with_the_prescriber() -> None:
    """ACIP: a fine needle, 23 gauge or finer, and firm pressure for at least 2 minutes without rubbing."""
    script = GIVEN | {"bleeding-risk": ("patient bleeds easily", "firm pressure planned")}
    going = walk(VACCINE, script)
    assert (going.status, going.branches) == ("finished", ["bleeds-easily"])
    assert any("23 gauge or finer" in say.text and "2 min" in say.text for say in going.walker.says)
    said_no = walk(VACCINE, script | {"bleeds-plan": "prescriber says no"})
    assert (said_no.status, said_no.branches) == ("abandoned", ["bleeds-easily", "held"])
