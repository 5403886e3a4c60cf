"""What the session says at the site step, and what the choice then means."""

from datetime import timedelta
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.core.controls import CONTROL_PHRASES
from companion.core.sites import (
    ZONES,
    Avoided,
    History,
    SiteSettings,
    Used,
    chosen_place,
    propose,
    spoken_choice,
    spoken_proposal,
    used_spot,
)
from companion.core.speakable import speakable, words_of
from tests.core.site_steps import START, Ward, used

USUAL = SiteSettings()
PROCEDURE = yaml.safe_load(
    (Path(__file__).parents[2] / "procedures" / "subcutaneous-insulin.yaml").read_text(encoding="utf-8")
)
SITE, SITE_FIT = (next(step for step in PROCEDURE["steps"] if step["id"] == name) for name in ("site", "site-fit"))
CHOICES: list[str] = SITE["value"]["choices"]
REPLIES = [
    *CHOICES,
    *SITE_FIT["normal"],
    *(reply for branch in SITE_FIT["abnormal"] for reply in branch["replies"]),
    *(phrase for branch in PROCEDURE["branches"] for phrase in branch.get("heard", ())),
    *CONTROL_PHRASES,
]


def avoiding(*places: str) -> History:
    history = History()
    for n, place in enumerate(places, 1):
        history = history.taking(Avoided(day=START, place=place, reason="wish"), n)
    return history


def test_the_sentence_for_the_site_step() -> None:
    said = spoken_proposal(used("left-thigh/upper-2-2"), START, USUAL)
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


@given(HISTORIES, st.sampled_from(CHOICES), st.sampled_from([10, 15, 30]))
@settings(max_examples=120, deadline=None)
def test_no_sentence_contains_a_reply_or_is_too_long(history: History, choice: str, distance: int) -> None:
    # A prompt that holds a reply would let its own echo be taken for one
    chosen = SiteSettings(site_distance=distance)
    for said in (spoken_proposal(history, START, chosen), spoken_choice(history, START, chosen, choice)):
        words = f" {words_of(said)} "
        assert [reply for reply in REPLIES if f" {reply} " in words] == []
        assert len(said) <= 200  # what fits the screen: companion.core.procedure.Text
        assert said == "" or said.endswith(".")


def test_a_choice_that_follows_the_proposal_is_the_proposed_spot() -> None:
    ward = Ward()
    for _, found in ward.weeks(3, a_day=1):
        before = History(ward.history.noted[:-1])
        assert chosen_place(before, ward.today, USUAL, found.zone.name) == found.place
        assert spoken_choice(before, ward.today, USUAL, found.zone.name) == ""


def test_the_spot_that_was_said_is_noted_also_where_the_side_alone_would_give_another() -> None:
    # Over both sides the lower right quadrant follows the lower left one; on the right alone the upper is in turn
    history = History()
    for n, (place, days) in enumerate((("right-abdomen/lower-6-3", 20), ("left-abdomen/lower-6-3", 10)), 1):
        history = history.taking(Used(day=START - timedelta(days=days), place=place), n)
    said = propose(history, START, USUAL)
    assert said.place.code.startswith("right-abdomen/lower")
    assert propose(history, START, USUAL, said.zone).place.code.startswith("right-abdomen/upper")
    assert chosen_place(history, START, USUAL, "right abdomen") == said.place
    assert spoken_choice(history, START, USUAL, "right abdomen") == ""


@pytest.mark.parametrize("choice", CHOICES)
def test_any_other_choice_is_the_spot_in_turn_there_and_is_said(choice: str) -> None:
    history = used("left-abdomen/upper-6-3")
    place = chosen_place(history, START, USUAL, choice)
    assert place is not None
    assert place.zone.name == choice
    assert place.spot is not None
    said = spoken_choice(history, START, USUAL, choice)
    if place == propose(history, START, USUAL).place:
        assert said == ""
    else:
        assert said == f"Next in turn: {propose(history, START, USUAL, place.zone).spoken}."
    note = used_spot(history, START, USUAL, choice)
    assert note is not None
    assert (note.place, note.day) == (place.code, START)


def test_a_choice_where_nothing_is_left_is_noted_without_a_spot() -> None:
    history = avoiding("left-thigh")
    note = used_spot(history, START, USUAL, "left thigh")
    assert note is not None
    assert note.place == "left-thigh"
    assert spoken_choice(history, START, USUAL, "left thigh") == (
        "No spot is left on the thigh on the left: all of it is avoided. Choose another area."
    )


@pytest.mark.parametrize("choice", ["", "left", "deltoid", "left ventrogluteal"])
def test_a_choice_that_is_no_zone_is_nothing_to_note(choice: str) -> None:
    assert used_spot(History(), START, USUAL, choice) is None
    assert spoken_choice(History(), START, USUAL, choice) == ""
