"""Hand hygiene: walked to its end by rub and by wash, into every branch, and held against published guidance.

Read: WHO Guidelines on Hand Hygiene in Health Care, 2009, through pages that quote it (20 to 30 s and 40 to 60 s
for the whole, six motions in order, five moments, alcohol for clean hands and soap for soiled ones). From memory,
verify: WHO 2009 on rings and on nails of at most 5 mm; epic3, 2014, on covering cuts.
"""

from itertools import pairwise

import pytest

from companion.core.procedure import ReadingStep
from companion.core.values import ChoiceValue
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

HANDS = procedure("hand-hygiene")
MOTIONS = ["palms", "backs", "between", "knuckles", "thumbs", "fingertips"]
WASH: dict[str, str | tuple[str, ...]] = {
    "method": "soap and water",
    "product": "lather is forming",
    "finish": ("lather is on", "tap is shut"),
}
ENDINGS = {
    "ring-stays": "return",
    "nails-long": "return",
    "small-cut": "return",
    "skin-damaged": "abandon",
    "not-fit": "abandon",
    "soil-seen": "again method",
    "dispenser-empty": "return",
    "dried-early": "again product",
    "touched": "again product",
    "rinse": "return",
    "skin-burns": "again skin",
    "eye-splash": "abandon",
    "called-away": "return",
    "called-away-midway": "again product",
}
HOW = Endings(HANDS, {})


def test_the_file_is_clean() -> None:
    check_is_clean("hand-hygiene")
    says_why_and_by_whom(HANDS)
    phrases_can_be_told_apart(HANDS)


def test_a_rub_is_walked_to_the_signature() -> None:
    going = walk(HANDS)
    assert going.status == "finished"
    assert going.done == [step.id for step in HANDS.steps]
    assert going.value("method") == "alcohol rub"
    assert "rinse-off" not in going.asked


def test_a_wash_is_walked_to_the_signature() -> None:
    """WHO 2009: the same six motions with soap, then rinse, dry with a single use towel, close the tap with it."""
    going = walk(HANDS, WASH)
    assert going.status == "finished"
    assert going.branches == ["rinse"]
    order = [going.asked.index(step) for step in [*MOTIONS, "rinse-off", "towel", "tap", "whole-time"]]
    assert order == sorted(order)


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in HANDS.branches}


def test_the_six_motions_come_in_the_order_of_who() -> None:
    """WHO 2009: palm to palm; palm over back; palm to palm interlaced; backs of fingers; thumbs; fingertips."""
    assert [step.id for step in HANDS.steps if step.id in MOTIONS] == MOTIONS
    words = ["palm to palm", "over the back", "interlaced", "their backs", "thumb", "fingertips"]
    for motion, word in zip(MOTIONS, words, strict=True):
        assert word in HANDS.step(motion).say, motion
    for first, then in pairwise(MOTIONS):
        assert comes_before(HANDS, first, then)
    # both hands, where one at a time is rubbed
    for motion in ("backs", "knuckles", "fingertips"):
        assert "change over" in HANDS.step(motion).say
    assert "the other" in HANDS.step("thumbs").say


def test_the_five_moments_in_their_order() -> None:
    """WHO 2009: before a patient, before an aseptic task, after body fluid, after a patient, after surroundings."""
    step = HANDS.step("moment")
    assert isinstance(step, ReadingStep) and isinstance(step.value, ChoiceValue)
    first_words = [" ".join(choice.split()[:2]) for choice in step.value.choices]
    assert first_words == ["before a", "clean task", "body fluid", "after a", "surroundings touched"]


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("gloves-off", "method"),  # WHO 2009: gloves never take the place of clean hands
        ("jewelry", "product"),  # epic3: bare below the elbow
        ("nails", "product"),
        ("skin", "product"),  # epic3: cuts are covered first
        ("method", "product"),  # WHO 2009: soap goes on wet hands
        ("product", "palms"),
        ("fingertips", "finish"),
        ("finish", "whole-time"),
        ("whole-time", "go-on"),  # WHO 2009: once dry, your hands are safe
        ("whole-time", "document"),
        ("go-on", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(HANDS, first, then)


def test_every_motion_and_the_time_are_critical() -> None:
    """WHO 2009: a part that is left out stays unclean."""
    assert critical(HANDS) >= {
        *MOTIONS,
        "jewelry",
        "nails",
        "skin",
        "method",
        "product",
        "finish",
        "whole-time",
        "sign",
    }


@pytest.mark.parametrize(
    ("setting", "value", "least", "most", "source"),
    [
        ("rub-time", "20 s", 20, 30, "WHO 2009: the whole rub takes 20 to 30 s"),
        ("wash-time", "40 s", 40, 60, "WHO 2009: the whole wash takes 40 to 60 s"),
        ("nail-length", "5", 1, 5, "WHO 2009: natural nails of 5 mm at most (from memory)"),
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, least: int, most: int, source: str) -> None:
    found = next(each for each in HANDS.settings if each.id == setting)
    assert found.value == value, source
    assert found.least == least, source
    assert found.most == most, source


@pytest.mark.parametrize(("least", "early"), [("20 s", 19), ("30 s", 29)])
def test_a_rub_is_not_over_early(least: str, early: int) -> None:
    """WHO 2009: 20 to 30 s from taking the product, whichever policy chooses."""
    going = walk(with_policy("hand-hygiene", rub_time=least), to="whole-time")
    since = going.walker.state.done_at("product")
    assert since is not None
    going.wait(early - (going.walker.now - since) // 1000 - 1).say("hands are dry")
    assert going.step == "whole-time"
    assert going.wait(2).say("hands are dry").step == "go-on"


def test_a_wash_is_not_over_before_forty_seconds() -> None:
    """WHO 2009: 40 to 60 s for the whole wash, also where a rub would have been long enough."""
    going = walk(HANDS, WASH, to="wash-whole")
    since = going.walker.state.done_at("product")
    assert since is not None
    going.wait(38 - (going.walker.now - since) // 1000).say("no part was missed")
    assert going.step == "wash-whole"
    assert going.wait(2).say("no part was missed").step == "finish"


def test_the_time_of_a_wash_is_not_spoken_in_a_rub() -> None:
    """A wait in a branch that was not taken has nothing to say, though it counts from a main step."""
    going = walk(HANDS, to="whole-time").wait(120)
    assert not [say.text for say in going.walker.says if "whole wash" in say.text]


def test_alcohol_and_soap_are_not_used_together() -> None:
    """WHO 2009: not one after the other; soap for dirt and for spores."""
    step = HANDS.step("method")
    assert "never both" in (step.caution or "")
    assert "spores" in step.say
    going = walk(HANDS, to="thumbs").say("dirt is visible").out_of("soil-seen")
    assert going.step == "method"


def test_the_leave_to_omit_a_motion_is_not_given() -> None:
    """Common practice: a missed critical step fails the whole."""
    allowed = walk(HANDS, to="thumbs")
    assert "leave it out" not in allowed.walker.machine.allowed(allowed.walker.state)


def test_something_touched_makes_hands_unclean_again() -> None:
    """WHO 2009: moment 5."""
    going = walk(HANDS, to="go-on").say("touched something").to_end()
    assert going.status == "finished"
    assert going.asked.count("palms") == 2


def test_artificial_nails_keep_from_patients() -> None:
    """WHO 2009: no artificial nails in direct contact with patients."""
    going = walk(HANDS, {"nails": "artificial nails"})
    assert (going.status, going.branches) == ("abandoned", ["not-fit"])


def test_after_soap_there_is_always_something_to_rinse() -> None:
    """WHO 2009: a wash is rinsed and dried with a towel, whatever is said of it."""
    going = walk(HANDS, {"method": "soap and water"}, to="finish").say("nothing to rinse")
    assert going.branch == "rinse"
    assert "soap and water speaks against that." in going.walker.texts()
    assert going.out_of("rinse").say("tap is shut").step == "whole-time"
    assert walk(HANDS, {"method": "alcohol rub"}, to="finish").say("nothing to rinse").step == "whole-time"
