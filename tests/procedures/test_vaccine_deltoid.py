"""A vaccine into the deltoid: what a single walk cannot show. Sources stand in `facts/vaccine-deltoid.yaml`."""

from tests.procedures.facts import facts
from tests.procedures.library import procedure
from tests.procedures.walking import walk

VACCINE = procedure("vaccine-deltoid")


def test_the_needle_lengths_are_the_inches_of_the_source() -> None:
    """CDC gives inches; 25.4 mm each, and whole mm on packets: 5/8, 1, 1 1/4 and 1 1/2."""
    found = next(each for each in VACCINE.settings if each.id == "needle-length")
    assert [int(choice) for choice in found.choices] == [round(inch * 25.4) for inch in (0.625, 1, 1.25, 1.5)]


def test_a_part_of_a_dose_is_never_topped_up_and_the_patient_is_watched() -> None:
    """ACIP (from memory): a partial dose does not count; whether it is repeated in full is for the prescriber."""
    going = walk(VACCINE, facts("vaccine-deltoid").given, to="inject").say("patient pulled away")
    begun = going.walker.now
    going.out_of("interrupted-dose")
    assert "top up nothing" in " ".join(going.walker.heard())
    assert going.status == "abandoned"
    assert {"partly-safe", "partly-hands", "partly-write", "partly-watch", "partly-well"} <= set(going.done)
    assert going.walker.now - begun >= 15 * 60_000
