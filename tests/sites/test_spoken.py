"""What the session says at the site step, and what the choice then means."""

from pathlib import Path

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.sites import (
    ZONES,
    Avoided,
    History,
    SiteSettings,
    named_in_turn,
)
from companion.speech.speakable import speakable
from tests.sites.steps import START, Ward, used

USUAL = SiteSettings()
PROCEDURE = yaml.safe_load(
    (Path(__file__).parents[2] / "procedures" / "subcutaneous-insulin.yaml").read_text(encoding="utf-8")
)
SITE, SITE_FIT = (next(step for step in PROCEDURE["steps"] if step["id"] == name) for name in ("site", "site-fit"))
CHOICES: list[str] = SITE["value"]["choices"]


def avoiding(*places: str) -> History:
    history = History()
    for n, place in enumerate(places, 1):
        history = history.taking(Avoided(day=START, place=place, reason="wish"), n)
    return history


def test_the_sentence_for_the_site_step() -> None:
    said = named_in_turn(used("left-thigh/upper-2-2"), START, USUAL)[0].text
    assert said == (
        "Next in turn: the thigh on the left, upper half, one finger's width inward and one finger's width above "
        "the last: 1 cm outward of the middle of the front and 1 cm below the top."
    )
    assert "one centimeter outward" in speakable(said)


HISTORIES = st.sampled_from(
    [
        History(),
        used("left-abdomen/upper-6-3"),
        used("left-thigh"),
        avoiding("left-abdomen", "right-abdomen"),
        avoiding(*(zone.code for zone in ZONES)),
        avoiding(*(zone.code for zone in ZONES[1:])),
        used(*(f"left-upper-arm/{part}-{a}-{b + plus}" for part, plus in (("upper", 0), ("lower", 4))
               for a in (1, 2, 3, 4) for b in (1, 2, 3, 4))),
    ]
)  # fmt: skip


@given(HISTORIES, st.sampled_from([10, 15, 30]))
@settings(max_examples=120, deadline=None)
def test_no_sentence_is_too_long(history: History, distance: int) -> None:
    for named in named_in_turn(history, START, SiteSettings(site_distance=distance)):
        assert len(named.text) <= 200  # what fits the screen: companion.procedure.model.Text
        assert named.text.endswith(".")


@given(HISTORIES, st.sampled_from([10, 15, 30]))
@settings(max_examples=60, deadline=None)
def test_after_a_spot_that_is_not_fit_another_is_named_at_a_distance(history: History, distance: int) -> None:
    """Frid 2016: at least 1 cm apart, by setting; a lump reaches as far as that from where it was found."""
    named = [each.place for each in named_in_turn(history, START, SiteSettings(site_distance=distance))]
    places = [place for place in named if place is not None]
    assert named == [*places, None], "only the last names none"
    for n, place in enumerate(places):
        for other in places[:n]:
            assert place.zone != other.zone or not place.within(other, distance)


def test_the_first_that_is_named_is_the_proposal_and_the_number_is_limited() -> None:
    ward = Ward()
    for _, found in ward.weeks(1, a_day=1):
        before = History(ward.history.noted[:-1])
        named = named_in_turn(before, ward.today, USUAL)
        assert named[0].place == found.place
        assert [each.place is None for each in named] == [False] * 5 + [True]


def test_nothing_left_is_said_at_once() -> None:
    (only,) = named_in_turn(avoiding(*(zone.code for zone in ZONES)), START, USUAL)
    assert only.text == "No spot is left anywhere: all of it is avoided. Ask the prescriber."
