"""Hand hygiene: what a single walk cannot show. Sources stand in `facts/hand-hygiene.yaml`."""

import pytest

from companion.procedure.due import is_due
from companion.procedure.kinds.paced import PacedStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.loading import load_rehearsed
from companion.speech.values import ChoiceValue
from tests.procedures.library import FOLDER, procedure
from tests.procedures.walking import walk

HANDS = procedure("hand-hygiene")
MOTIONS = ["palms", "backs", "between", "knuckles", "thumbs", "fingertips"]


def test_the_six_motions_come_in_the_order_of_who() -> None:
    """WHO 2009."""
    assert [step.id for step in HANDS.steps if step.id in MOTIONS] == MOTIONS


def test_the_five_moments_in_their_order() -> None:
    """WHO 2009: before a patient, before an aseptic task, after body fluid, after a patient, after surroundings."""
    step = HANDS.step("moment")
    assert isinstance(step, ReadingStep) and isinstance(step.value, ChoiceValue)
    first_words = [" ".join(choice.split()[:2]) for choice in step.value.choices]
    assert first_words == ["before a", "clean task", "body fluid", "after a", "surroundings touched"]


def test_a_wash_has_a_time_while_it_is_rinsed() -> None:
    going = walk(HANDS, {"method": "soap and water", "product": "lather is forming"}, to="rinse-off")
    assert going.walker.machine.timers(going.walker.state)


def test_six_motions_are_one_reply_within_the_time_of_a_rub() -> None:
    """Six replies and 27 s of prompts had made hands dry by the fourth motion; WHO 2009: 20 to 30 s for the whole."""
    motions = HANDS.step("motions")
    assert isinstance(motions, PacedStep)
    assert len(motions.parts) == 6
    assert 20 <= len(motions.parts) * motions.pace <= 30
    assert max(len(part.split()) for part in motions.parts) <= 8, "about 3 s at 165 words a minute"
    going = walk(HANDS, to="motions")
    asked = going.walker.now
    going.wait(5 * motions.pace).say("every part is covered")
    assert going.step == "whole-time"
    going.wait(20).say("hands are dry")
    assert going.walker.now - asked <= 45_000


def test_it_asks_for_few_replies_at_work() -> None:
    """22 replies had been asked for. Common practice: hands are cleaned many times an hour."""
    assert len(walk(HANDS).asked) <= 12


@pytest.mark.parametrize(("policy", "asked"), [({}, "step by step"), ({"guidance": "in one go"}, "in one go")])
def test_a_rehearsal_from_memory_asks_for_each_motion_unless_local_policy_says_otherwise(
    policy: dict[str, str], asked: str
) -> None:
    """Who had left out the thumbs would pass where the six motions are one answer; WHO 2009: no part is left out."""
    loaded = load_rehearsed(FOLDER / "hand-hygiene.yaml", policy)
    assert loaded.settings == {"guidance": asked}
    assert is_due(loaded.procedure, {}, loaded.procedure.step("thumbs")) == (asked == "step by step")
