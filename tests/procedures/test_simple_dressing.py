"""A simple dressing: walked to its end, into every branch, and held against published guidance.

Read: BCcampus, Clinical Procedures for Safer Patient Care, chapter 4, simple dressing change, in part (two identifiers,
pain relief offered, hand hygiene, supplies for one patient, saline at room temperature); WHO 2009. From memory, verify:
the rest of BCcampus (gloves for taking off, field edge of one inch, one gauze a stroke, least to most contaminated) and
the Royal Marsden Manual 4.11 (assessment, cleaning only where needed); Resuscitation Council UK, Adult basic life
support Guidelines, 2021.
"""

import pytest

from tests.procedures.library import (
    Endings,
    check_is_clean,
    comes_before,
    critical,
    phrases_can_be_told_apart,
    procedure,
    says_why_and_by_whom,
    with_policy,
)
from tests.procedures.walking import walk

DRESSING = procedure("simple-dressing")
ENDINGS = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "plan-unclear": "again plan",
    "held": "abandon",
    "allergy": "return",
    "pain-first": "again hands-before-patient",
    "pain-during": "return",
    "cover-wait": "abandon",
    "pack-unfit": "again gather",
    "contaminated": "again gather",
    "sticks": "return",
    "infected": "return",
    "unexpected": "return",
    "burst": "abandon",
    "bleeding": "return",
    "too-tight": "return",
    "lifts": "return",
    "exposure": "abandon",
    "fainting": "return",
    "emergency": "abandon",
    "called-away": "return",
    "called-away-field": "again gather",
}
HOW = Endings(DRESSING, {})


def test_the_file_is_clean() -> None:
    check_is_clean("simple-dressing")
    says_why_and_by_whom(DRESSING)
    phrases_can_be_told_apart(DRESSING)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(DRESSING, {"exudate": "slightly moist"})
    assert going.status == "finished"
    assert going.done == [step.id for step in DRESSING.steps]
    assert going.value("exudate") == "slightly moist"


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in DRESSING.branches}


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("identify", "agreement"),  # BCcampus: two identifiers, then explain
        ("allergies", "apply"),  # common practice
        ("pain", "old-off"),  # BCcampus: pain relief is offered first
        ("packs", "sterile-field"),
        ("hands-before-field", "sterile-field"),  # WHO 2009, moment 2
        ("sterile-field", "add-supplies"),
        ("solution", "add-supplies"),  # common practice: read before use
        ("clean-gloves", "old-off"),  # BCcampus
        ("old-off", "gloves-away"),
        ("clean-gloves", "wound"),  # WHO 2009, moment 3: nothing near a wound is touched with a bare hand
        ("wound", "gloves-away"),
        ("gloves-away", "hands-before-wound"),  # WHO 2009: after glove removal
        ("hands-before-wound", "sterile-gloves"),
        ("wound", "clean"),  # Royal Marsden 4.11: assessed before it is cleaned
        ("sterile-gloves", "clean"),
        ("clean", "apply"),
        ("apply", "date-on"),
        ("waste", "hands-after"),  # WHO 2009, moments 3 and 4
        ("wound", "document"),
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(DRESSING, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, agreement, allergy, pain, sterility, assessment, cleaning, record."""
    assert critical(DRESSING) >= {
        "plan", "hands-before-patient", "identify", "agreement", "allergies", "pain", "packs", "hands-before-field",
        "sterile-field", "add-supplies", "solution", "clean-gloves", "old-off", "gloves-away",
        "hands-before-wound", "wound", "sterile-gloves", "clean", "apply", "secure", "hands-after",
        "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "source"),
    [
        ("rub-time", "20 s", "WHO 2009: 20 to 30 s"),
        ("identifiers", "2", "BCcampus and NPSG.01.01.01"),
        ("field-edge", "2.5", "BCcampus (from memory): one inch of the border is not sterile"),
        ("relief-time", "30 min", "common practice: by mouth"),
        ("hand-cover", "sterile gloves", "BCcampus; policies differ"),
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, source: str) -> None:
    assert next(each for each in DRESSING.settings if each.id == setting).value == value, source


def test_it_is_cleaned_from_least_to_most_contaminated() -> None:
    """BCcampus chapter 4: from the cleanest part outward, one gauze a stroke."""
    step = DRESSING.step("clean")
    assert step.say.startswith("Least contaminated to most")
    assert "One gauze, one stroke" in step.say
    assert "never from the skin into the wound" in (step.caution or "")


def test_hands_are_cleaned_four_times() -> None:
    """WHO 2009: before the patient, before the field, after the first gloves, at the end."""
    going = walk(DRESSING)
    assert [step for step in going.asked if step.startswith("hands-")] == [
        "hands-before-patient", "hands-before-field", "hands-before-wound", "hands-after",
    ]  # fmt: skip


@pytest.mark.parametrize("seen", ["hot and red", "bad odor", "pus is there"])
def test_signs_of_infection_get_advice_before_it_goes_on(seen: str) -> None:
    """Royal Marsden 4.11 (from memory): redness, heat, odor, pus. Nothing is covered up and left."""
    going = walk(DRESSING, {"wound": (seen, "advice was taken")})
    assert (going.status, going.branches) == ("finished", ["infected"])
    assert going.asked.index("infected-advice") < going.asked.index("clean")


@pytest.mark.parametrize("seen", ["black tissue", "edges have parted", "deeper than before"])
def test_tissue_that_is_not_expected_gets_advice(seen: str) -> None:
    """Common practice: no cutting, probing or packing until somebody who can judge it has spoken."""
    going = walk(DRESSING, {"wound": seen, "unexpected-advice": "they will come"})
    assert (going.status, going.branches) == ("abandoned", ["unexpected", "cover-wait"])
    assert "clean" not in going.asked


def test_a_patient_ill_from_the_wound_is_an_emergency() -> None:
    """Common practice: infection with signs beyond the wound is thought of as sepsis."""
    going = walk(DRESSING, {"wound": "pus is there", "infected-well": "ill as a whole"})
    assert going.outcome == "Emergency; the team takes over."


def test_a_burst_wound_is_covered_moist_and_nothing_is_pushed_back() -> None:
    """Common practice for evisceration: moist sterile cover, flat, knees bent, nothing by mouth, call."""
    going = walk(DRESSING, to="wound").say("organs can be seen")
    said = " ".join(going.walker.texts())
    assert "soaked in saline" in said
    assert "Push nothing back" in said
    assert going.to_end().status == "abandoned"


@pytest.mark.parametrize("step", ["sterile-field", "add-supplies", "clean", "apply"])
def test_what_was_touched_is_replaced_and_done_again(step: str) -> None:
    """BCcampus: a doubt counts as touched."""
    going = walk(DRESSING, to=step).say("sterile part was touched").out_of("contaminated")
    assert going.step == "gather"
    assert going.to_end().status == "finished"
    assert going.asked.count("sterile-field") == 2


def test_pain_relief_has_time_to_act() -> None:
    """BCcampus: offered before; about 30 minutes by mouth (common practice)."""
    going = walk(DRESSING, {"pain": ("relief is needed", "comfortable enough")}, to="relief-wait")
    assert going.wait(29 * 60).say("patient has rested").step == "relief-wait"
    assert going.wait(60).say("patient has rested").step == "hands-before-patient"
    shorter = walk(with_policy("simple-dressing", relief_time="5 min"), {"pain": "relief is needed"}, to="relief-wait")
    assert shorter.wait(5 * 60).say("patient has rested").step == "hands-before-patient"


def test_an_allergy_is_met_with_other_products() -> None:
    """Common practice: adhesive, iodine and latex are asked for by name."""
    step = DRESSING.step("allergies")
    assert all(word in step.say for word in ("adhesive", "iodine", "latex"))
    going = walk(DRESSING, {"allergies": ("allergy is present", "other products ready")})
    assert (going.status, going.branches) == ("finished", ["allergy"])


def test_bleeding_is_pressed_without_lifting() -> None:
    """Common practice in first aid: five minutes, then looked at; what goes on is an emergency."""
    going = walk(DRESSING, to="clean").say("it bleeds").wait(4 * 60).say("pressed all the while")
    assert going.step == "bleed-press"
    going.wait(60).say("pressed all the while", "still bleeding")
    assert going.branch == "emergency"


@pytest.mark.parametrize("seen", ["blood is spurting", "blood soaks through"])
def test_spurting_is_asked_for_and_ends_the_hold_at_once(seen: str) -> None:
    """Common practice in first aid: "it spurts" had stood in a hint only, for five minutes."""
    going = walk(DRESSING, to="clean").say("it bleeds")
    assert "spurt" in " ".join(going.walker.texts())
    assert going.say(seen).branch == "emergency"


def test_hands_are_rubbed_between_looking_at_the_wound_and_sterile_gloves() -> None:
    """WHO 2009, moments 2 and 3: the wound had been felt with a bare hand, then sterile gloves without a rub."""
    asked = walk(DRESSING).asked
    order = ["clean-gloves", "old-off", "exudate", "wound", "measure", "gloves-away", "hands-before-wound"]
    assert asked[asked.index("clean-gloves") : asked.index("sterile-gloves")] == order


def test_an_infected_wound_is_covered_before_pulse_and_pressure_are_taken() -> None:
    """Common practice: vital signs take minutes, and the wound had lain open."""
    going = walk(DRESSING, to="wound").say("pus is there")
    assert going.step == "infected-cover"
    assert going.say("gauze lies on it").step == "infected-well"


def test_whoever_waits_for_pain_relief_may_go() -> None:
    """Common practice: half an hour is not spent standing there, and hands are cleaned on coming back (WHO 2009)."""
    going = walk(DRESSING, {"pain": "relief is needed"}, to="relief-wait")
    assert "You may go" in " ".join(going.walker.texts())
    assert going.say("called away").out_of("called-away").step == "relief-wait"


def test_the_emergency_begins_with_breathing_and_compressions() -> None:
    """Resuscitation Council UK, Adult basic life support, 2021 (from memory): on the side only if breathing."""
    going = walk(DRESSING, to="clean").say("collapsed just now")
    said = " ".join(going.walker.texts())
    places = [said.index(each) for each in ("help", "Breathing normally", "compressions", "on the side")]
    assert places == sorted(places)
    going.to_end()
    assert "emergency-close" in going.asked


def test_few_words_are_spoken_over_the_open_field() -> None:
    """Common practice: no talking over a sterile field. About 18 replies had been asked for there."""
    assert "mask" in DRESSING.step("hands-before-field").say
    asked = walk(DRESSING).asked
    assert asked.index("solution") < asked.index("sterile-field")
    going = walk(DRESSING, to="sterile-field")
    before = len([event for event in going.walker.events if event.kind == "replied"])
    going.to("date-on")
    assert len([event for event in going.walker.events if event.kind == "replied"]) - before <= 13
