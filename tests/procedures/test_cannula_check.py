"""The cannula check: walked to its end, into every branch, and held against published guidance.

Read: the published VIP table (0 and 1 observe, 2 resite, 3 and 4 resite and consider treatment, 5 treat); signs and
first measures of infiltration and extravasation (Nursing Center pocket card); 72 to 96 hours in a hospital's policy.
From memory, verify: epic3, 2014 (each shift, out when not needed, changed for a reason, hub 15 s, 2 percent
chlorhexidine in 70 percent alcohol, dressing 7 days, sodium chloride); CDC 2011 (not more often than every 72 to 96
hours; 48 hours after an emergency).
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
    "chart-unclear": "again request",
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
    assert going.outcome == "The cannula was taken out, and the check is over."
    wanted = ["removal-hands", "removal-out", "removal-press", "removal-tip", "removal-write"]
    assert [step for step in going.asked if step in wanted] == wanted


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("identify", "need"),  # NPSG.01.01.01
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
        "request", "hands-before-patient", "identify", "agreement", "allergies", "need", "inserted-on", "time-in-place",
        "site", "vip", "dressing", "securement", "line", "flush-due", "hands-after", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "source"),
    [
        ("hub-time", "15 s", "epic3 (from memory): at least 15 s"),
        ("dressing-days", "7", "epic3 (from memory): every 7 days, sooner when loose or damp"),
        ("change-rule", "for a reason only", "epic3 (from memory): not routinely"),
        ("rub-time", "20 s", "WHO 2009: 20 to 30 s"),
        ("identifiers", "2", "NPSG.01.01.01"),
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
    assert "site" not in going.asked


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
    assert "Leave the cannula where it is" in said
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
