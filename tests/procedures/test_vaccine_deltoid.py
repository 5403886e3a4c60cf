"""A vaccine into the deltoid: walked to its end, into every branch, and held against published guidance.

Read: ACIP and CDC through pages that quote them (22 to 25 gauge; needle length by body mass; 2 inches or 2 to 3 finger
widths below the acromion; 15 minutes), Open RN 18.8 (90 degrees, volumes), WHO toolkit (swab 30 s, optional on clean
skin). From memory, verify: WHO 2015 and ACIP on pulling back, ACIP on mild illness, precautions, partial doses,
epinephrine and firm pressure, Resuscitation Council UK 2021, CDC on 30 minutes, Immunize.org on what leaks out.
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
from tests.procedures.walking import Walk, walk

VACCINE = procedure("vaccine-deltoid")
# The walker's day is 4 March 2030.
GIVEN = {
    "ordered-vaccine": "influenza",
    "ordered-volume": "half a milliliter",
    "allergies": "never had any",
    "expiry": "june twenty thirty one",
    "opened-on": "fourth of march twenty thirty",
    "side": "left deltoid",
}
ENDINGS = {
    "emergency": "abandon",
    "severe-reaction": "abandon",
    "no-better": "return",
    "refused": "abandon",
    "not-the-patient": "abandon",
    "order-unclear": "again order",
    "held": "abandon",
    "too-much": "abandon",
    "allergy": "abandon",
    "postponed": "abandon",
    "ask-prescriber": "return",
    "not-covered": "abandon",
    "bleeds-easily": "return",
    "label-differs": "again gather",
    "vial-unfit": "again gather",
    "needle-unfit": "return",
    "bubbles-seen": "return",
    "stopper-late": "again wipe-stopper",
    "contaminated": "again gather",
    "site-unfit": "again side",
    "leaked": "return",
    "bleeding-or-bruise": "return",
    "interrupted-dose": "abandon",
    "needle-stick": "abandon",
    "needle-stick-later": "return",
    "wrong-given": "return",
    "watch-longer": "return",
    "fainting": "return",
    "fainting-with-dose": "again gather",
    "called-away": "return",
    "called-away-with-dose": "again gather",
    "called-away-watching": "return",
}
HOW = Endings(VACCINE, GIVEN)


def told(going: Walk) -> str:
    """Everything said so far."""
    return " ".join(say.text for say in going.walker.says)


def test_the_file_is_clean() -> None:
    check_is_clean("vaccine-deltoid")
    says_why_and_by_whom(VACCINE)
    phrases_can_be_told_apart(VACCINE)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(VACCINE, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in VACCINE.steps if step.id not in ("no-fever", "syringe-ready")]
    assert (going.value("ordered-volume"), going.value("label-second")) == ("0.5 mL", "0.5 mL")


def test_a_filled_syringe_needs_neither_vial_nor_stopper() -> None:
    """Common practice: most vaccines for adults come in a syringe filled by the maker; the bubble stays (ACIP)."""
    going = walk(with_policy("vaccine-deltoid", presentation="filled syringe"), GIVEN)
    passed = {"opened-on", "wipe-stopper", "stopper-dry", "draw-dose", "bubbles", "needle-out"}
    assert going.status == "finished" and passed.isdisjoint(going.done) and "syringe-ready" in going.done
    assert going.value("label-second") == "0.5 mL"


def test_beside_the_patient_identity_is_not_asked_for_twice() -> None:
    """Common practice: what is prepared beside the patient needs no second identification; local policy decides."""
    going = walk(with_policy("vaccine-deltoid", prepared="beside the patient"), GIVEN)
    assert (going.status, "identify-again" in going.done) == ("finished", False)


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
        ("ordered-vaccine", "label-first"),  # the label is held against the order, common practice
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
        ("label-first", "insert-needle"),
        ("expiry", "insert-needle"),  # ACIP: what is past its date is not given
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
        "order", "ordered-vaccine", "ordered-volume",
        "identify", "agreement", "allergies", "well-today", "conditions", "rescue-ready",
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
        ("longer-observation", "30 min", (), "CDC, considerations for COVID-19 vaccines (from memory)"),
        ("epinephrine", "0.5", ("0.3", "0.5"), "Resuscitation Council UK 2021; ACIP: 0.01 mg/kg, at most 0.5 mg"),
        ("epinephrine-again", "5 min", (), "Resuscitation Council UK 2021: after 5 minutes; ACIP: every 5 to 15"),
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


@pytest.mark.parametrize(
    ("printed", "branch"),
    [
        ("march twenty thirty", None),
        ("february twenty thirty", "vial-unfit"),
        ("march third twenty thirty", "vial-unfit"),
        ("march fourth twenty thirty", None),
    ],
)
def test_a_month_holds_to_its_last_day_and_a_printed_day_counts(printed: str, branch: str | None) -> None:
    """CDC, from memory: month and year hold to the end of the month, a printed day counts; it is 4 March 2030."""
    assert walk(VACCINE, GIVEN, to="expiry").read(printed).branch == branch


def test_the_name_on_the_label_is_read_and_compared_by_the_program() -> None:
    """Common practice: a look-alike name is found by reading it, not by asking whether it is the right one."""
    going = walk(VACCINE, GIVEN | {"ordered-vaccine": "hepatitis b"}, to="label-first").read("hepatitis a")
    assert going.branch == "label-differs"
    assert going.out_of("label-differs").step == "gather"


@pytest.mark.parametrize(
    ("volume", "branch"), [("half a milliliter", None), ("zero point two five milliliters", "label-differs")]
)
def test_the_dose_drawn_is_read_as_a_figure(volume: str, branch: str | None) -> None:
    """Common practice: the figure at the plunger is said and compared; nobody is told what it should be."""
    going = walk(VACCINE, GIVEN, to="label-second")
    assert "0.5 mL" not in " ".join(going.walker.texts())
    assert going.read(volume).branch == branch


def test_live_vaccines_and_powders_are_turned_away_with_where_to_turn() -> None:
    """ACIP: live vaccines have contraindications of their own; a powder needs the maker's own liquid."""
    for step, phrase in (("ordered-vaccine", "another vaccine"), ("look-at-vaccine", "powder to dissolve")):
        going = walk(VACCINE, GIVEN, to=step)
        going.read(phrase) if step == "ordered-vaccine" else going.say(phrase)
        assert going.branch == "not-covered"
        assert "by its leaflet and your protocol" in told(going)


@pytest.mark.parametrize("answer", ["only a cold", "only mildly ill", "well enough"])
def test_a_mild_illness_is_no_reason_to_wait(answer: str) -> None:
    """ACIP: mild illness with or without fever is no contraindication; a moderate or severe one is a precaution."""
    assert walk(VACCINE, GIVEN, to="well-today").say(answer).step == "conditions"
    assert walk(VACCINE, GIVEN, to="well-today").say("moderately ill").branch == "postponed"


def test_some_policies_wait_for_a_fever_to_go() -> None:
    local = with_policy("vaccine-deltoid", slight_fever="reason to wait")
    assert walk(local, GIVEN, to="no-fever").say("fever is present").branch == "postponed"


def test_pregnancy_and_weak_defenses_do_not_turn_a_patient_away() -> None:
    """ACIP: they rule out live vaccines; those that are not live are often meant for just these people."""
    going = walk(VACCINE, GIVEN, to="conditions").say("not sure of it")
    assert "rule out no vaccine that is not live" in told(going).replace("  ", " ")
    assert going.out_of("ask-prescriber").say("prescriber weighed it").step == "bleeding-risk"


def test_nobody_gets_up_before_fifteen_minutes() -> None:
    """ACIP, CDC: 15 minutes, counted from the injection."""
    going = walk(VACCINE, GIVEN, to="observe")
    since = next(entry.at_ms for entry in going.walker.state.done if entry.step == "withdraw")
    to_go = since + 15 * 60_000 - going.walker.now
    going.wait(to_go // 1000 - 2).say("patient was watched")
    assert going.step == "observe"
    assert going.wait(2).say("patient was watched").step == "well-after"


def test_after_an_earlier_reaction_it_is_thirty_minutes() -> None:
    """CDC (from memory): 30 minutes for whoever has reacted to a vaccine or injection before."""
    going = walk(VACCINE, GIVEN | {"allergies": "another reaction before"}, to="well-after").say("feels quite well")
    assert (going.branch, going.step) == ("watch-longer", "watch-on")
    since = next(entry.at_ms for entry in going.walker.state.done if entry.step == "sharps")
    to_go = since + 30 * 60_000 - going.walker.now
    assert going.wait(to_go // 1000 - 2).say("patient was watched").step == "watch-on"
    assert going.wait(2).say("patient was watched").step == "well-after"
    assert going.say("feels quite well").step == "sign"


def test_pulling_back_is_said_to_be_needless_unless_policy_asks() -> None:
    """WHO 2015, ACIP (from memory): no aspiration before an intramuscular vaccine."""
    assert "not needed" in " ".join(walk(VACCINE, GIVEN, to="inject").walker.texts())
    local = with_policy("vaccine-deltoid", aspiration="asked for by policy")
    going = walk(local, GIVEN, to="inject")
    assert "asked for by policy" in " ".join(going.walker.texts())
    assert going.say("blood in the syringe").branch == "interrupted-dose"
