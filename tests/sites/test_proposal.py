"""The rotation: whose turn it is, and what is refused."""

from datetime import date, timedelta
from itertools import groupby

import pytest

from companion.errors import EventRefused
from companion.sites import (
    ZONES,
    Avoided,
    Fit,
    History,
    NothingLeft,
    SiteSettings,
    Undone,
    Used,
    propose,
    read_place,
    zone_named,
)
from companion.sites.cautions import cautions
from companion.sites.history import SiteEvent
from tests.sites.steps import START, Ward, used

LEFT_THIGH = zone_named("left thigh")
USUAL = SiteSettings()


def noting(history: History, *events: SiteEvent) -> History:
    for event in events:
        history = history.taking(event, len(history.noted) + 1)
    return history


def test_a_quadrant_a_week_clockwise() -> None:
    # Frid et al. 2016, quoted in leaflets: one section a week. Clockwise (the same, from memory, verify), as seen
    # by whoever faces the patient: the patient's right is on the viewer's left.
    weeks = [(week, found.place.code.rsplit("-", 2)[0]) for week, found in Ward().weeks(5, a_day=3)]
    assert [(week, part) for (week, part), _ in groupby(weeks)] == [
        (0, "right-abdomen/upper"),
        (1, "left-abdomen/upper"),
        (2, "left-abdomen/lower"),
        (3, "right-abdomen/lower"),
        (4, "right-abdomen/upper"),
    ]


@pytest.mark.parametrize(
    ("last", "turn"),
    [
        # The back of the arm and the buttock are seen from behind: the patient's left is on the viewer's left.
        ("left-thigh/lower-1-7", ["right-thigh/lower", "right-thigh/upper", "left-thigh/upper", "left-thigh/lower"]),
        (
            "left-buttock/upper-1-4",
            ["right-buttock/upper", "right-buttock/lower", "left-buttock/lower", "left-buttock/upper"],
        ),
        (
            "right-upper-arm/lower-1-6",
            ["left-upper-arm/lower", "left-upper-arm/upper", "right-upper-arm/upper", "right-upper-arm/lower"],
        ),
    ],
)
def test_halves_take_turns_clockwise_too(last: str, turn: list[str]) -> None:
    ward = Ward(history=used(last))
    found = []
    for _ in turn:
        ward.today += timedelta(days=7)
        found.append(ward.inject().place.code.rsplit("-", 2)[0])
    assert found == turn


def test_neighbours_follow_each_other_in_words_of_a_finger_s_width() -> None:
    ward = Ward()
    assert ward.inject().words == "right abdomen, upper quadrant: 5 cm outward of the navel and 1 cm above it"
    assert ward.inject().words == (
        "right abdomen, upper quadrant, one finger's width outward of the last: "
        "6 cm outward of the navel and 1 cm above it"
    )
    found = propose(used("left-thigh/lower-6-6"), START, USUAL)
    assert found.place.code == "left-thigh/lower-1-6"
    assert "of the last" not in found.words  # 5 cm away: no finger's width
    below = used(*(f"left-thigh/lower-{n}-6" for n in range(1, 7)))
    assert "one finger's width below the last: " in propose(below, START, USUAL).words
    two = propose(used("left-thigh/lower-2-6"), START, SiteSettings(site_distance=20), LEFT_THIGH)
    assert "two fingers' widths outward of the last" in two.words


def test_what_is_not_used_comes_first_then_what_rested_longest() -> None:
    settings = SiteSettings(site_distance=30, rest_days=1)
    ward = Ward(settings)
    arm = zone_named("left upper arm")  # two spots at 3 cm
    order = [ward.inject_when_possible(arm).place.code for _ in range(6)]
    assert order == ["left-upper-arm/upper-3-3", "left-upper-arm/lower-3-6"] * 3
    assert "rested for" in propose(ward.history, ward.today + timedelta(days=9), settings, arm).reason


def test_the_area_of_the_last_injection_is_kept_and_its_change_is_said() -> None:
    history = used("left-thigh/upper-3-3")
    assert propose(history, START, USUAL).zone.area.name == "thigh"
    for side in ("left", "right"):
        history = noting(history, Avoided(day=START, place=f"{side}-thigh", reason="scar"))
    found = propose(history, START, USUAL)
    assert found.zone.area.name == "upper arm"
    # Uptake differs between areas: Frid et al. 2016
    assert found.reason.startswith("Nothing is left on the thigh. From another area insulin is taken up differently")


@pytest.mark.parametrize("place", ["right-abdomen", "right-abdomen/upper", "right-abdomen/upper-5-1"])
def test_an_avoided_place_is_passed_over_until_it_is_fit_again(place: str) -> None:
    first = propose(History(), START, USUAL)
    assert first.place.code == "right-abdomen/upper-5-1"
    avoiding = noting(History(), Avoided(day=START, place=place, reason="bruise"))
    assert not read_place(place).covers(propose(avoiding, START, USUAL).place)
    assert propose(noting(avoiding, Undone(day=START, undoes=1)), START, USUAL) == first
    for fit in ("right-abdomen", place):
        assert propose(noting(avoiding, Fit(day=START, place=fit)), START, USUAL) == first


def test_an_avoided_spot_keeps_its_distance() -> None:
    # Between four spots of the grid: all four lie nearer than 1 cm
    avoiding = noting(History(), Avoided(day=START, place="left-thigh/upper-1.5-1.5", reason="lump"))
    assert propose(avoiding, START, USUAL, LEFT_THIGH).place.code == "left-thigh/upper-3-1"


def test_a_change_of_the_setting_respects_what_was_used_before() -> None:
    history = used("left-thigh/upper-1-1")
    found = propose(history, START, SiteSettings(site_distance=15), LEFT_THIGH).place
    assert found.code == "left-thigh/upper-3-1.5"  # 1.5 and 1.5 is only 0.7 cm away


def test_the_last_one_without_its_spot_is_warned_of() -> None:
    found = propose(used("left-thigh"), START, USUAL)
    assert found.zone.area.name == "thigh"
    assert "not noted" not in found.reason  # another side is in turn
    found = propose(used("left-thigh"), START, USUAL, LEFT_THIGH)
    assert "The exact spot of the last one was not noted" in found.reason


def test_nothing_left_in_a_zone_says_why_when_and_where_else() -> None:
    avoiding = noting(History(), Avoided(day=START, place="left-thigh", reason="wish"))
    with pytest.raises(NothingLeft) as refused:
        propose(avoiding, START, USUAL, LEFT_THIGH)
    assert "all of it is avoided" in str(refused.value)
    assert "spots are left on: left abdomen, right abdomen, right thigh, left upper arm" in str(refused.value)
    assert refused.value.spoken.endswith("Choose another area.")


def test_the_day_on_which_a_spot_is_free_again_is_right() -> None:
    settings = SiteSettings(site_distance=30, rest_days=14)
    ward = Ward(settings)
    count = 0
    while True:
        try:
            ward.inject(LEFT_THIGH)
            count += 1
            ward.today += timedelta(days=2)
        except NothingLeft as refusal:
            said = str(refusal)
            break
    assert count == 6
    day = date.fromisoformat(said.split("the first is free again on ")[1][:10])
    with pytest.raises(NothingLeft):
        propose(ward.history, day - timedelta(days=1), settings, LEFT_THIGH)
    assert propose(ward.history, day, settings, LEFT_THIGH).place.code == "left-thigh/upper-3-3"


def test_the_only_spot_left_is_not_used_twice_running() -> None:
    settings = SiteSettings(site_distance=30, rest_days=1)
    history = noting(
        used("left-upper-arm/upper-3-3"), Avoided(day=START, place="left-upper-arm/lower", reason="device")
    )
    with pytest.raises(NothingLeft, match="only the spot of the last injection"):
        propose(history, START + timedelta(days=90), settings, zone_named("left upper arm"))


def test_nothing_left_anywhere() -> None:
    history = noting(History(), *(Avoided(day=START, place=zone.code, reason="wish") for zone in ZONES))
    with pytest.raises(NothingLeft, match="no spot is left anywhere: all of it is avoided") as refused:
        propose(history, START, USUAL)
    assert refused.value.spoken.endswith("Ask the prescriber.")


def test_a_note_taken_back_counts_no_more() -> None:
    history = noting(used("left-thigh/upper-1-1"), Undone(day=START, undoes=1))
    assert history.uses() == ()
    assert propose(history, START, USUAL) == propose(History(), START, USUAL)
    with pytest.raises(EventRefused, match="note 1 does not stand here"):
        history.taking(Undone(day=START, undoes=1), 3)


def test_fit_needs_something_avoided() -> None:
    avoiding = noting(History(), Avoided(day=START, place="left-thigh", reason="scar"))
    with pytest.raises(EventRefused, match=r"left-thigh/upper: .* avoided now: left-thigh"):
        avoiding.taking(Fit(day=START, place="left-thigh/upper"), 2)


def test_an_injection_noted_late_counts_on_its_own_day() -> None:
    late = noting(used("left-thigh/upper-1-1"), Used(day=START - timedelta(days=3), place="right-buttock/upper-1-4"))
    assert propose(late, START, USUAL).zone.area.name == "thigh"


def test_cautions_name_each_rule_gone_against() -> None:
    history = noting(
        used("left-abdomen/upper-6-3"), Avoided(day=START, place="left-abdomen/lower", reason="broken skin")
    )
    day = START + timedelta(days=2)
    assert cautions(history, read_place("right-abdomen/upper-6-3"), day, USUAL) == ()
    assert "nearer than 1 cm" in cautions(history, read_place("left-abdomen/upper-6.5-3.5"), day, USUAL)[0]
    assert cautions(history, read_place("left-abdomen/upper-6.5-3.5"), START + timedelta(days=28), USUAL) == ()
    assert cautions(history, read_place("left-abdomen/lower-1-2"), day, USUAL) == (
        "left-abdomen/lower is to be avoided since 2030-01-01: broken skin.",
        "left-abdomen/lower-1-2 is nearer to the navel than 5 cm.",
    )
