"""The cannula check: walked to its end, into every branch, and held against published guidance.

Read: the published VIP table (0 and 1 observe, 2 resite, 3 and 4 resite and consider treatment, 5 treat); signs and
first measures of infiltration and extravasation (Nursing Center pocket card); 72 to 96 hours in a hospital's policy.
From memory, verify: epic3, 2014 (each shift, out when not needed, changed for a reason, hub 15 s, 2 percent
chlorhexidine in 70 percent alcohol, dressing 7 days, sodium chloride); CDC 2011 (not more often than every 72 to 96
hours; 48 hours after an emergency); Infusion Therapy Standards of Practice 2024 (every 4 hours at least, blood drawn
back before a flush); Resuscitation Council UK 2021 (normal breathing, chest compressions).
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

CANNULA = procedure("cannula-check")
# The walker's day is 4 March 2030.
GIVEN = {"inserted-on": "second of march twenty thirty"}
FLUSHED = GIVEN | {"flush-due": ("one is due", "it went in well")}
ENDINGS = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "not-due": "abandon",
    "uncharted": "return",
    "fever": "return",
    "air-embolism": "abandon",
    "held": "abandon",
    "allergy": "return",
    "not-needed": "abandon",
    "date-unknown": "return",
    "resite": "abandon",
    "resite-treat": "abandon",
    "treat": "abandon",
    "infiltration": "abandon",
    "extravasation": "abandon",
    "bleeding": "return",
    "dressing-change": "return",
    "securement-change": "return",
    "line-open": "return",
    "air-in-line": "return",
    "rate-wrong": "return",
    "flush": "return",
    "flush-unfit": "again flush-due",
    "blocked": "return",
    "contaminated": "again flush-due",
    "dressing-contaminated": "again dressing",
    "removal": "abandon",
    "fragment": "abandon",
    "blood-contact": "abandon",
    "fainting": "return",
    "emergency": "abandon",
    "called-away": "return",
    "called-away-open": "again flush-due",
}
HOW = Endings(CANNULA, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("cannula-check")
    says_why_and_by_whom(CANNULA)
    phrases_can_be_told_apart(CANNULA)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(CANNULA, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in CANNULA.steps]
    assert (going.value("vip"), going.value("inserted-on")) == ("zero points", "2030-03-02")


def test_it_is_walked_with_a_flush() -> None:
    """epic3 (from memory): hub cleaned and dry before anything goes in."""
    going = walk(CANNULA, FLUSHED)
    assert (going.status, going.branches) == ("finished", ["flush"])
    order = [
        going.asked.index(step) for step in ("line", "flush-order", "flush-hands", "hub-scrub", "hub-dry", "flush-give")
    ]
    assert order == sorted(order)


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in CANNULA.branches}


@pytest.mark.parametrize(
    ("score", "branch"),
    [
        ("zero points", None),
        ("one point", None),
        ("two points", "resite"),
        ("three points", "resite-treat"),
        ("four points", "resite-treat"),
        ("five points", "treat"),
    ],
)
def test_the_score_calls_for_what_the_table_says(score: str, branch: str | None) -> None:
    """Published VIP table: 0 and 1 observe, 2 resite, 3 and 4 resite and consider treatment, 5 treat."""
    going = walk(CANNULA, GIVEN, to="vip").read(score)
    assert going.branch == branch
    going.to_end()
    assert going.status == ("finished" if branch is None else "abandoned")


@pytest.mark.parametrize(
    ("score", "said"),
    [("three points", "Treatment is considered"), ("five points", "Treatment begins")],
)
def test_treatment_is_considered_or_begun(score: str, said: str) -> None:
    """Published VIP table."""
    going = walk(CANNULA, GIVEN | {"vip": score})
    assert said in " ".join(say.text for say in going.walker.says)


@pytest.mark.parametrize("score", ["two points", "three points", "five points"])
def test_the_cannula_can_be_taken_out_there_and_then(score: str) -> None:
    """Common practice: pressed once it is out, the tip looked at, watched on."""
    step = {"two points": "resite-out", "three points": "phlebitis-out", "five points": "treat-out"}[score]
    going = walk(CANNULA, GIVEN | {"vip": score, step: "removing it now"})
    assert going.outcome == "The catheter was taken out, and the check is over."
    wanted = ["removal-hands", "removal-out", "removal-press", "removal-tip", "removal-write"]
    assert [step for step in going.asked if step in wanted] == wanted


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("identify", "need"),  # NPSG.01.01.01
        ("temperature", "vip"),  # VIP: fever is one of the signs
        ("agreement", "site"),  # common practice
        ("site", "vip"),  # VIP: the score sums up what was seen
        ("vip", "dressing"),
        ("vip", "flush-due"),  # nothing is pushed into an inflamed vein, common practice
        ("line", "flush-due"),
        ("hub-scrub", "flush-give"),  # epic3 (from memory)
        ("hub-dry", "flush-give"),
        ("removal-hands", "removal-out"),  # WHO 2009, moment 2
        ("gloves-off", "hands-after"),  # WHO 2009
        ("site", "hands-after"),  # WHO 2009, moment 4
        ("vip", "document"),  # epic3: the score is written down
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(CANNULA, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, need, date, site, score, dressing, line, flush, record."""
    assert critical(CANNULA) >= {
        "request", "charted", "hands-before-patient", "identify", "agreement", "allergies", "need", "inserted-on",
        "time-in-place", "site", "temperature", "vip",
        "dressing", "securement", "line", "flush-due", "hands-after", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "source"),
    [
        ("hub-time", "15 s", "epic3 (from memory): at least 15 s"),
        ("dressing-days", "7", "epic3 (from memory): every 7 days, sooner when loose or damp"),
        ("change-rule", "for a reason only", "epic3 (from memory): not routinely"),
        ("rub-time", "20 s", "WHO 2009: 20 to 30 s"),
        ("identifiers", "2", "NPSG.01.01.01"),
        ("look-rule", "each shift", "epic3 (from memory): each shift; INS 2024 (from memory): every 4 hours"),
        ("fever-limit", "38", "common practice: 38 degrees Celsius"),
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, source: str) -> None:
    assert next(each for each in CANNULA.settings if each.id == setting).value == value, source


def test_change_by_the_clock_is_a_setting() -> None:
    """epic3: for a clinical reason; CDC 2011: not more often than every 72 to 96 hours."""
    rule = next(each for each in CANNULA.settings if each.id == "change-rule")
    assert rule.choices == ("for a reason only", "after 96 hours", "after 72 hours")
    going = walk(with_policy("cannula-check", change_rule="after 72 hours"), GIVEN, to="time-in-place")
    assert "after 72 hours" in " ".join(going.walker.texts())
    going.say("over its time").out_of("resite")
    assert going.status == "abandoned"


def test_one_without_a_use_goes() -> None:
    """epic3 (from memory): out as soon as it is no longer needed."""
    going = walk(CANNULA, GIVEN | {"need": "has no use now"})
    assert going.outcome == "It is no longer needed; a colleague takes it out."
    assert going.asked.index("vip") < going.asked.index("need")  # also one that goes is looked at


def test_the_hub_is_scrubbed_for_fifteen_seconds() -> None:
    """epic3 (from memory)."""
    going = walk(CANNULA, FLUSHED, to="hub-scrub").wait(13).say("scrubbed long enough")
    assert going.step == "hub-scrub"
    assert going.wait(2).say("scrubbed long enough").step == "hub-dry"


def test_nothing_is_pushed_against_resistance() -> None:
    """Common practice: a clot is pushed into the blood. Once, gently, then the cannula is given up."""
    going = walk(CANNULA, FLUSHED | {"flush-give": "resistance is felt", "blocked-look": "does not yield"})
    assert (going.status, going.branches) == ("abandoned", ["flush", "blocked", "resite"])


def test_harmful_medicine_in_the_tissue_leaves_the_cannula_in() -> None:
    """Nursing Center pocket card and teaching pages: stop, leave it in, draw back, antidote; do not flush."""
    script = GIVEN | {"site": "swollen and cool", "leak-kind": "not sure of it"}
    going = walk(CANNULA, script)
    assert going.branches == ["infiltration", "extravasation"]
    assert "leak-out" not in going.asked
    said = " ".join(say.text for say in going.walker.says)
    assert "Leave the catheter where it is" in said
    assert "Do not flush" in said


def test_plain_fluid_in_the_tissue_takes_it_out() -> None:
    """Nursing Center pocket card: stop, remove, raise the limb."""
    going = walk(CANNULA, GIVEN | {"site": "swollen and cool", "leak-out": "removing it now"})
    assert going.branches == ["infiltration", "removal"]
    assert going.asked.index("leak-close") < going.asked.index("leak-care") < going.asked.index("removal-out")


@pytest.mark.parametrize(
    ("day", "accepted"),
    [("eighteenth of february twenty thirty", True), ("seventeenth of february twenty thirty", False)],
)
def test_a_date_beyond_a_fortnight_is_not_taken(day: str, accepted: bool) -> None:
    """The setting is -14 days; 4 March 2030 less 14 days is 18 February."""
    going = walk(CANNULA, GIVEN, to="inserted-on")
    assert (day in going.walker.machine.allowed(going.walker.state)) == accepted


def test_how_often_it_is_looked_at_is_local_policy() -> None:
    """epic3 (England): each shift; Infusion Therapy Standards of Practice 2024 (US): every 4 hours at least."""
    assert "each shift" in " ".join(walk(CANNULA, GIVEN, to="request").walker.texts())
    local = with_policy("cannula-check", look_rule="every 4 hours")
    assert "every 4 hours" in " ".join(walk(local, GIVEN, to="request").walker.texts())


def test_one_that_is_not_due_is_left_in_peace() -> None:
    going = walk(CANNULA, GIVEN, to="request").say("not due yet").out_of("not-due")
    assert (going.status, going.outcome) == ("abandoned", "The check is not due yet.")


def test_one_that_nobody_charted_is_looked_at_and_then_replaced() -> None:
    """CDC 2011 (from memory): without a sure day it counts as put in without asepsis; it is looked at first."""
    going = walk(CANNULA, GIVEN | {"charted": ("missing in the chart", "counts as undated")}, to="inserted-on")
    assert going.asked.index("uncharted-tell") < going.asked.index("site") < going.asked.index("vip")
    going.say("date is missing", "nobody knows it")
    assert going.branch == "resite"
    assert going.out_of("resite").status == "abandoned"


def test_fever_is_asked_for_and_told_before_the_vein_is_scored() -> None:
    """Published VIP table: fever is the last of the signs."""
    going = walk(CANNULA, GIVEN, to="temperature").say("feverish now")
    assert "Tell the doctor now" in " ".join(going.walker.texts())
    assert going.out_of("fever").say("fever was reported").step == "vip"


def test_three_points_are_pain_along_the_catheter_redness_and_hardening() -> None:
    """Published VIP table: 3 is pain along the path of the catheter, redness and induration."""
    going = walk(CANNULA, GIVEN, to="vip").say("help")
    assert "Pain along the catheter, redness and hardening, 3" in " ".join(going.walker.texts())


@pytest.mark.parametrize("sign", ["breathless or blue", "chest pain now", "faint or confused"])
def test_air_that_went_in_is_answered_with_the_left_side_and_head_low(sign: str) -> None:
    """Common practice: clamp, left side, head low, help; each sign is a reply, not a hint."""
    going = walk(CANNULA, GIVEN, to="line").say("bubbles inside")
    assert sign in " ".join(going.fork().say("help").walker.texts())
    text = " ".join(going.say(sign).walker.texts())
    assert going.branch == "air-embolism"
    assert "left side, head low" in text and "sit" not in text


@pytest.mark.parametrize(
    ("step", "said", "wanted"),
    [
        ("dressing", "soiled beneath", ["dress-hands", "dress-off", "dress-hands-new", "dress-skin", "dress-on"]),
        ("line", "cap is off", ["open-clamp", "open-hands", "open-hub", "open-dry", "open-renew"]),
    ],
)
def test_hands_are_cleaned_between_soiled_and_clean_work(step: str, said: str, wanted: list[str]) -> None:
    """WHO 2009, moments 2 and 3: before a clean task, and after contact with what is soiled."""
    going = walk(CANNULA, GIVEN, to=step).say(said).to_end()
    assert [each for each in going.asked if each in wanted] == wanted


def test_blood_is_drawn_back_before_a_flush() -> None:
    """Infusion Therapy Standards of Practice 2024 (from memory)."""
    text = " ".join(walk(CANNULA, FLUSHED, to="flush-give").walker.texts())
    assert text.index("Draw back for blood") < text.index("5 mL")


@pytest.mark.parametrize("step", [step.id for step in CANNULA.steps])
def test_an_emergency_is_told_at_any_step_and_begins_with_deeds(step: str) -> None:
    """Resuscitation Council UK 2021 (from memory): compressions for whoever is unresponsive without normal breathing,
    on the side only when breathing is normal."""
    going = walk(CANNULA, GIVEN, to=step).say("not breathing")
    first = " ".join(going.walker.texts())
    assert first.index("Call for help") < first.index("compressions now") < first.index("on the side")
    going.out_of("emergency")
    assert going.asked[-3:] == ["emergency-call", "emergency-stay", "emergency-close"]
