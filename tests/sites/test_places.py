"""Zones and places as they are written, and the settings."""

import re
from pathlib import Path

import pytest
import yaml

from companion.errors import UsageError
from companion.sites import ZONES, Place, SiteSettings, read_place, site_settings, zone_named
from companion.sites.grid import spots

PROCEDURE = Path(__file__).parents[2] / "procedures" / "subcutaneous-insulin.yaml"


def test_the_zones_are_those_of_the_guidance() -> None:
    # Frid, Hirsch, Strauss 2018: abdomen, upper anterolateral thigh, upper arm, upper outer buttock; left and right
    assert {zone.area.name for zone in ZONES} == {"abdomen", "thigh", "upper arm", "buttock"}
    assert len(ZONES) == 8
    # Quadrants of the abdomen, halves of the others: Frid et al. 2016, from memory, verify
    assert {zone.area.name: zone.area.share for zone in ZONES} == {
        "abdomen": "quadrant",
        "thigh": "half",
        "upper arm": "half",
        "buttock": "half",
    }


def test_every_choice_of_the_procedure_is_a_zone_and_the_other_way_round() -> None:
    steps = yaml.safe_load(PROCEDURE.read_text(encoding="utf-8"))["steps"]
    choices = next(step for step in steps if step["id"] == "site")["value"]["choices"]
    assert [zone_named(choice) for choice in choices] == list(ZONES)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("left-abdomen", "left-abdomen"),
        ("Left Abdomen", "left-abdomen"),
        ("right upper arm/lower", "right-upper-arm/lower"),
        ("left-abdomen/upper-6-3", "left-abdomen/upper-6-3"),
        ("left abdomen/upper 6 3", "left-abdomen/upper-6-3"),
        (" right-thigh / LOWER-1.5-7.5 ", "right-thigh/lower-1.5-7.5"),
        ("left-buttock/upper-07-04", "left-buttock/upper-7-4"),
        ("left-abdomen/upper--6-3", "left-abdomen/upper-6-3"),  # a doubled hyphen is no minus sign
    ],
)
def test_places_as_they_are_typed(text: str, code: str) -> None:
    assert read_place(text).code == code
    assert read_place(code) == read_place(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "`` is no place to inject; accepted: left-abdomen, right-abdomen"),
        ("abdomen", "`abdomen` is no place to inject"),
        ("left-knee/upper-1-1", "`left-knee` is no place to inject"),
        ("left-abdomen/", "is no quadrant or spot; accepted: upper, lower"),
        ("left-abdomen/middle", "`middle` is no quadrant or spot"),
        ("left-thigh/outer-1-1", "`outer-1-1` is no half or spot"),
        ("left-abdomen/upper-6", "`upper-6` is no quadrant or spot"),
        ("left-abdomen/upper-6-3-1", "is no quadrant or spot"),
        ("left-abdomen/upper-6.0-3", "is no quadrant or spot"),  # a trailing zero, Joint Commission "Do Not Use" list
        ("left-abdomen/upper-.5-3", "is no quadrant or spot"),  # no leading zero, the same
        ("left-abdomen/upper-1e1-3", "is no quadrant or spot"),
        ("left-abdomen/upper-٦-٣", "is no quadrant or spot"),
        ("left-abdomen/upper-10-3", "at most 9 cm outward"),
        ("left-abdomen/upper-0-3", "more than 0"),
        ("left-abdomen/upper-6-8", "at most 7 cm"),
        ("left-thigh/upper-2-7", "outside the upper half of the thigh on the left"),
    ],
)
def test_what_is_no_place_is_named_with_what_is_accepted(text: str, says: str) -> None:
    with pytest.raises(UsageError) as refused:
        read_place(text)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_each_example_in_a_refusal_is_accepted() -> None:
    for zone in ZONES:
        with pytest.raises(UsageError) as refused:
            read_place(f"{zone.code}/nowhere")
        example = re.search(r"such as (\S+)$", str(refused.value))
        assert example
        assert read_place(example[1]).zone == zone


def test_a_place_covers_what_lies_in_it() -> None:
    zone, part, spot = (read_place(f"left-thigh{end}") for end in ("", "/lower", "/lower-2-7"))
    assert [each.covers(spot) for each in (zone, part, spot)] == [True, True, True]
    assert [each.covers(zone) for each in (zone, part, spot)] == [True, False, False]
    assert not read_place("left-thigh/upper").covers(spot)
    assert not read_place("right-thigh").covers(spot)


def test_settings_default_to_the_published_figures() -> None:
    assert site_settings({}) == SiteSettings(site_distance=10, navel_distance=50, rest_days=28)
    # 1 cm: Frid et al. 2016; 5 cm: patient leaflets, common practice; four weeks: leaflets citing Frid et al. 2016
    steps = yaml.safe_load(PROCEDURE.read_text(encoding="utf-8"))["settings"]
    values = {entry["id"]: str(entry["value"]) for entry in steps}
    assert site_settings(values) == SiteSettings()


def test_settings_are_taken_from_a_procedure_and_the_rest_left_alone() -> None:
    taken = site_settings({"site-distance": "1.5", "navel-distance": "2", "site-rest": "14", "rub-time": "20 s"})
    assert taken == SiteSettings(15, 20, 14)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("site-distance", "0.9"),
        ("site-distance", "3.1"),
        ("site-distance", "1.25"),
        ("site-distance", "1.0"),
        ("site-distance", "wide"),
        ("navel-distance", "0"),
        ("navel-distance", "-5"),
        ("navel-distance", "6"),
        ("site-rest", "0"),
        ("site-rest", "7.5"),
        ("site-rest", "91"),
        ("site-rest", "NaN"),
    ],
)
def test_settings_that_do_not_fit_are_refused_in_a_sentence(name: str, value: str) -> None:
    with pytest.raises(UsageError, match=rf"^{name} is `{re.escape(value)}`; accepted: 1 to "):
        site_settings({name: value})


@pytest.mark.parametrize("distance", [10, 11, 15, 20, 30])
@pytest.mark.parametrize("navel", [10, 25, 50])
def test_every_part_of_every_zone_has_a_spot_with_every_setting(distance: int, navel: int) -> None:
    settings = SiteSettings(distance, navel)
    for zone in ZONES:
        for part in zone.area.parts:
            found = spots(zone, part, settings)
            assert found
            # Each can be written down and read back
            assert [read_place(place.code) for place in found] == list(found)
            assert all(Place(zone, part).covers(place) for place in found)
