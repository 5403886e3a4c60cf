"""A simple dressing: what a single walk cannot show. Sources stand in `facts/simple-dressing.yaml`."""

from tests.procedures.library import procedure
from tests.procedures.walking import walk

DRESSING = procedure("simple-dressing")


def test_hands_are_rubbed_between_looking_at_the_wound_and_sterile_gloves() -> None:
    """WHO 2009, moments 2 and 3: the wound had been felt with a bare hand, then sterile gloves without a rub; hands are
    cleaned before the patient, before the field, after the first gloves, at the end, and no more often."""
    asked = walk(DRESSING).asked
    order = ["clean-gloves", "old-off", "exudate", "wound", "measure", "gloves-away", "hands-before-wound"]
    assert asked[asked.index("clean-gloves") : asked.index("sterile-gloves")] == order
    assert sum(step.startswith("hands-") for step in asked) == 4


def test_few_words_are_spoken_over_the_open_field() -> None:
    """Common practice: no talking over a sterile field. About 18 replies had been asked for there."""
    assert "mask" in DRESSING.step("hands-before-field").say
    asked = walk(DRESSING).asked
    assert asked.index("solution") < asked.index("sterile-field")
    going = walk(DRESSING, to="sterile-field")
    before = len([event for event in going.walker.events if event.kind == "replied"])
    going.to("date-on")
    assert len([event for event in going.walker.events if event.kind == "replied"]) - before <= 13
