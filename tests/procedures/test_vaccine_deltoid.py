"""A vaccine into the deltoid: walked to its end, into every branch, and held against published guidance.

Read: ACIP and CDC through pages that quote them (22 to 25 gauge; needle length by body mass; 2 inches or 2 to 3 finger
widths below the acromion; 15 minutes), Open RN 18.8 (90 degrees, volumes), WHO toolkit (swab 30 s, optional on clean
skin). From memory, verify: WHO 2015 and ACIP on pulling back, ACIP on partial doses and on firm pressure for 2 minutes.
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

VACCINE = procedure("vaccine-deltoid")
# The walker's day is 4 March 2030.
GIVEN = {
    "ordered-volume": "half a milliliter",
    "expiry": "june twenty thirty one",
    "opened-on": "fourth of march twenty thirty",
    "side": "left deltoid",
}
ENDINGS = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "order-unclear": "again order",
    "held": "abandon",
    "too-much": "abandon",
    "allergy": "abandon",
    "postponed": "abandon",
    "ask-prescriber": "abandon",
    "bleeds-easily": "return",
    "label-differs": "again gather",
    "vial-unfit": "again gather",
    "needle-unfit": "return",
    "bubbles-seen": "return",
    "stopper-late": "again wipe-stopper",
    "contaminated": "again gather",
    "site-unfit": "again side",
    "blood-seen": "again gather",
    "bleeding-or-bruise": "return",
    "interrupted-dose": "abandon",
    "needle-stick": "abandon",
    "severe-reaction": "abandon",
    "fainting": "return",
    "fainting-with-dose": "again gather",
    "emergency": "abandon",
    "called-away": "return",
    "called-away-with-dose": "again gather",
    "called-away-watching": "return",
}
HOW = Endings(VACCINE, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("vaccine-deltoid")
    says_why_and_by_whom(VACCINE)
    phrases_can_be_told_apart(VACCINE)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(VACCINE, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in VACCINE.steps]
    assert going.value("ordered-volume") == "0.5 mL"


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in VACCINE.branches}


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("agreement", "insert-needle"),  # common practice
        ("allergies", "gather"),  # ACIP: screened before a vaccine is prepared
        ("well-today", "insert-needle"),  # ACIP: moderate or severe illness is a precaution
        ("conditions", "insert-needle"),
        ("rescue-ready", "insert-needle"),  # ACIP: epinephrine at hand wherever vaccines are given
        ("hands-before-preparing", "wipe-stopper"),  # WHO 2009, moment 2
        ("stopper-dry", "draw-dose"),  # WHO toolkit
        ("label-first", "draw-dose"),  # three checks, common practice
        ("label-second", "label-third"),
        ("label-third", "insert-needle"),
        ("identify-again", "posture"),  # NPSG.01.01.01
        ("hands-before-injecting", "gloves"),  # WHO toolkit
        ("posture", "find-site"),  # ACIP: seated or lying, arm loose
        ("find-site", "site-fit"),
        ("skin-dry", "insert-needle"),  # WHO toolkit: 30 s, then dry
        ("withdraw", "sharps"),  # WHO toolkit
        ("withdraw", "observe"),  # ACIP: 15 minutes from the injection
        ("well-after", "sign"),
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(VACCINE, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, screening, rescue, sterility, site, dose, disposal, watching, record."""
    assert critical(VACCINE) >= {
        "order", "ordered-volume", "identify", "agreement", "allergies", "well-today", "conditions", "rescue-ready",
        "label-first", "expiry", "opened-on", "look-at-vaccine", "needle-fit", "draw-dose", "label-second",
        "identify-again", "label-third", "side", "find-site", "site-fit", "insert-needle", "inject", "sharps",
        "document", "observe", "well-after", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "choices", "source"),
    [
        ("observation-time", "15 min", (), "ACIP and CDC: 15 minutes seated or lying"),
        ("needle-length", "25", ("16", "25", "32", "38"), "CDC, Immunize.org: 5/8, 1, 1 1/4 and 1 1/2 inch"),
        ("needle-gauge", "23", (), "CDC: 22 to 25 gauge"),
        ("deltoid-limit", "1", ("1", "2"), "teaching pages that quote ACIP: 1 mL, up to 2 mL"),
        ("finger-widths", "2", ("2", "3"), "CDC: 2 to 3 finger widths below the acromion"),
        ("aspiration", "not needed", ("not needed", "asked for by policy"), "WHO 2015, ACIP (from memory)"),
        ("skin-drying", "30 s", (), "WHO toolkit: 30 s where a swab is used"),
        ("identifiers", "2", (), "NPSG.01.01.01"),
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, choices: tuple[str, ...], source: str) -> None:
    found = next(each for each in VACCINE.settings if each.id == setting)
    assert (found.value, found.choices) == (value, choices), source


def test_the_needle_lengths_are_the_inches_of_the_source() -> None:
    """CDC gives inches; 25.4 mm each, and whole mm on packets: 5/8, 1, 1 1/4 and 1 1/2."""
    found = next(each for each in VACCINE.settings if each.id == "needle-length")
    assert [round(inch * 25.4) for inch in (0.625, 1, 1.25, 1.5)] == [16, 25, 32, 38]
    assert [int(choice) for choice in found.choices] == [16, 25, 32, 38]


@pytest.mark.parametrize(
    ("limit", "volume", "branch"),
    [
        ("1", "one milliliter", None),
        ("1", "one point one milliliters", "too-much"),
        ("2", "two milliliters", None),
        ("2", "two point one milliliters", "too-much"),
    ],
)
def test_more_than_the_deltoid_holds_is_not_given_there(limit: str, volume: str, branch: str | None) -> None:
    """1 mL as a rule, up to 2 mL: the limit is a setting."""
    local = with_policy("vaccine-deltoid", deltoid_limit=limit)
    assert walk(local, GIVEN, to="ordered-volume").read(volume).branch == branch


@pytest.mark.parametrize(("month", "branch"), [("march", None), ("february", "vial-unfit")])
def test_a_month_holds_to_its_last_day(month: str, branch: str | None) -> None:
    """Printed as month and year, it holds through that month (common practice); today is 4 March 2030."""
    assert walk(VACCINE, GIVEN, to="expiry").read(f"{month} twenty thirty").branch == branch


def test_nobody_gets_up_before_fifteen_minutes() -> None:
    """ACIP, CDC: 15 minutes, counted from the injection."""
    going = walk(VACCINE, GIVEN, to="observe")
    since = next(entry.at_ms for entry in going.walker.state.done if entry.step == "withdraw")
    to_go = since + 15 * 60_000 - going.walker.now
    going.wait(to_go // 1000 - 2).say("patient was watched")
    assert going.step == "observe"
    assert going.wait(2).say("patient was watched").step == "well-after"


def test_after_an_earlier_reaction_it_is_thirty_minutes() -> None:
    """ACIP: longer for those who reacted before (30 minutes, from memory)."""
    local = with_policy("vaccine-deltoid", observation_time="30 min")
    going = walk(local, GIVEN, to="observe").wait(20 * 60).say("patient was watched")
    assert going.step == "observe"


def test_pulling_back_is_said_to_be_needless_unless_policy_asks() -> None:
    """WHO 2015, ACIP (from memory): no aspiration before an intramuscular vaccine."""
    assert "not needed" in " ".join(walk(VACCINE, GIVEN, to="inject").walker.texts())
    local = with_policy("vaccine-deltoid", aspiration="asked for by policy")
    going = walk(local, GIVEN, to="inject")
    assert "asked for by policy" in " ".join(going.walker.texts())
    going.say("blood in the syringe").out_of("blood-seen")
    assert going.step == "gather"


def test_a_severe_reaction_gets_adrenaline_right_after_the_call() -> None:
    """ACIP: epinephrine first, into the muscle of the outer thigh; flat, legs up."""
    going = walk(VACCINE, GIVEN, to="observe").say("severe reaction")
    going.out_of("severe-reaction")
    assert going.asked[-4:] == ["reaction-call", "reaction-adrenaline", "reaction-lay", "reaction-write"]
    assert going.outcome == "Severe reaction; the team takes over."


def test_a_faint_while_watched_does_not_begin_the_time_anew() -> None:
    """Common practice: the fifteen minutes count from the injection, whatever happens meanwhile."""
    going = walk(VACCINE, GIVEN, to="observe").wait(10 * 60).say("fainting now").out_of("fainting")
    assert going.step == "observe"
    assert going.wait(5 * 60).say("patient was watched").step == "well-after"


def test_a_part_of_a_dose_is_never_topped_up() -> None:
    """ACIP (from memory): a partial dose does not count; whether it is repeated in full is for the prescriber."""
    going = walk(VACCINE, GIVEN, to="inject").say("patient pulled away").out_of("interrupted-dose")
    assert "Do not top up" in " ".join(say.text for say in going.walker.says)
    assert going.status == "abandoned"


def test_who_bleeds_easily_gets_it_only_with_the_prescriber() -> None:
    """ACIP: a fine needle, 23 gauge or finer, and firm pressure for at least 2 minutes without rubbing."""
    script = GIVEN | {"bleeding-risk": ("patient bleeds easily", "firm pressure planned")}
    going = walk(VACCINE, script)
    assert (going.status, going.branches) == ("finished", ["bleeds-easily"])
    assert any("23 gauge or finer" in say.text and "2 min" in say.text for say in going.walker.says)
    said_no = walk(VACCINE, script | {"bleeds-plan": "prescriber says no"})
    assert (said_no.status, said_no.branches) == ("abandoned", ["bleeds-easily", "held"])
