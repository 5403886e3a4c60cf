"""What holds for insulin from a vial and by pen alike: answers held against each other.

Read: NPSA 2010, ADA 2025. From memory: FIT UK 2016, JBDS 01 and 02, ISMP 2017.
"""

from typing import Any

import pytest

from companion.procedure.model import Procedure
from tests.procedures.insulin import PEN, PEN_GIVEN, VIAL, VIAL_GIVEN
from tests.procedures.library import with_policy
from tests.procedures.walking import Walk
from tests.procedures.walking import walk as walked

EITHER = {"vial": (VIAL, VIAL_GIVEN), "pen": (PEN, PEN_GIVEN)}


class Device:
    """Walks through the procedure of one device."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.procedure, self._given = EITHER[name]

    def walk(self, to: str | None = None, under: Procedure | None = None, **given: Any) -> Walk:
        """As `walking.walk`, with other things given; `ordered_kind` sets `ordered-kind`."""
        own = {key.replace("_", "-"): value for key, value in given.items()}
        return walked(under or self.procedure, self._given | own, to=to)


@pytest.fixture(params=EITHER)
def device(request: pytest.FixtureRequest) -> Device:
    return Device(request.param)


@pytest.mark.parametrize(
    ("kind", "look", "fits"),
    [
        ("rapid acting", "evenly cloudy", False),
        ("long acting", "evenly cloudy", False),
        ("ready mixed", "clear as water", False),
        ("intermediate acting", "evenly cloudy", True),
        ("short acting", "clear as water", True),
    ],
)
def test_how_it_looks_is_held_against_the_kind(device: Device, kind: str, look: str, fits: bool) -> None:
    """FIT UK 2016: cloudy kinds are mixed; those that act fast are clear (common practice)."""
    going = device.walk("look-at-insulin", ordered_kind=kind).say(look)
    assert going.branch == (None if fits else f"{device.name}-unfit")
    assert ("mix" in going.done) == (kind in ("intermediate acting", "ready mixed"))


@pytest.mark.parametrize(("kind", "branch"), [("rapid acting", "meal-kind"), ("long acting", None)])
def test_meal_insulin_is_no_basal_dose(device: Device, kind: str, branch: str | None) -> None:
    """NPSA 2010, ISMP 2017: kinds for meal and night are mixed up."""
    assert device.walk("meal", ordered_kind=kind).say("basal dose").branch == branch


def test_a_high_glucose_is_asked_about_and_then_stands(device: Device) -> None:
    """JBDS 02: 3.0 mmol/L and more is the range of ketoacidosis; the limit is a setting."""
    high = "three hundred milligrams per deciliter"
    going = device.walk("glucose").read(high)
    assert (going.branch, going.step) == ("high-glucose", "high-ketones")
    assert going.fork().read("three point one millimoles per liter").branch == "ketones-high"
    going.out_of("high-glucose").read(high)
    assert going.step == "low-signs"
    assert going.walker.state.done[-1].note == "confirmed after high-glucose"
    without = with_policy(device.procedure.id, ketone_check="not required")
    assert device.walk("glucose", without).read(high).step == "high-look"


def test_a_meter_without_a_figure_can_be_told(device: Device) -> None:
    """Common practice: HI and LO stand for more and less than a meter shows."""
    at = device.walk("glucose")
    assert at.fork().say("high on the meter", "still above its range").branch == "ketones-high"
    assert at.say("low on the meter").step == "low-treat"


def test_an_old_glucose_is_measured_anew(device: Device) -> None:
    """Common practice, a setting: glucose moves far within an hour."""
    at = device.walk("glucose-age")
    assert "30 min" in " ".join(at.walker.texts())
    assert at.say("older than that", "measured just now").step == "glucose-age"


def test_a_low_glucose_is_treated_and_measured_again_before_anything_is_decided(device: Device) -> None:
    """ADA 2025; JBDS 01: three rounds, then more is called for; insulin that is due is not left out."""
    going = device.walk("glucose").read("sixty nine milligrams per deciliter")
    assert going.step == "low-treat"
    assert going.to("low-decide").fork().say("dose is confirmed").step == "hands-before-patient"
    assert going.say("held for now").branch == "held"
    low = device.walk("glucose", low_again=("sixty milligrams per deciliter",))
    low.read("sixty milligrams per deciliter").to("emergency-first")
    assert low.asked.count("still-treat") == 2


@pytest.mark.parametrize("word", ["vomiting and drowsy", "having a seizure", "hard to wake", "cannot swallow"])
@pytest.mark.parametrize("step", ["low-wait", "late-wait"])
def test_while_it_takes_effect_what_goes_wrong_can_be_told(device: Device, step: str, word: str) -> None:
    """JBDS 01: whoever cannot swallow, is drowsy or has a seizure is treated another way at once."""
    low = device.walk("low-signs" if step == "low-wait" else "aftercare").say("sugar is dropping")
    assert low.to(step).wait(30).say(word).step == "emergency-first"


def test_signs_with_a_figure_that_is_not_low_get_no_sugar(device: Device) -> None:
    """ADA 2025: what is below 70 mg/dL is treated."""
    going = device.walk("low-signs").say("warning signs present").out_of("signs-checked")
    assert "low-treat" not in going.asked
    assert going.say("signs are explained").step == "meal"


def test_a_large_dose_that_is_meant_can_be_given_and_is_shown_as_confirmed(device: Device) -> None:
    """Common practice: above a setting the prescriber is asked; some patients need such doses."""
    going = device.walk(ordered_dose="sixty units")
    assert (going.status, going.branches) == ("finished", ["large-dose"])
    assert going.value("volume" if device.name == "vial" else "dial") == "60 units"
    notes = [entry.note for entry in going.walker.state.done if entry.step == "ordered-dose"]
    assert notes == ["confirmed after large-dose"]


def test_too_early_is_waited_for_and_given_already_is_not_given(device: Device) -> None:
    """Common practice; ISMP 2017."""
    at = device.walk("last-dose")
    assert at.fork().say("too early", "time has come").step == "last-dose"
    assert at.say("last one still acts").to_end().status == "abandoned"
