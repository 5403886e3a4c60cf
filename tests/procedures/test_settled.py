"""Answers that claim that a branch was gone through are taken only when it was, and has come back.

That a check is one only when somebody has really done it: ISMP Canada 2019. The rest: common practice.
"""

import pytest

from companion.errors import ProcedureError
from companion.machine.machine import Machine
from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.loading import load_text
from companion.procedure.step_parts import Settled
from companion.session.events import Replied
from companion.session.state import Frame, State
from tests.procedures.library import FOLDER, procedure
from tests.procedures.walking import walk
from tests.walk import TODAY

INFUSION = {
    "ordered-volume": "one thousand milliliters",
    "ordered-time": "eight hours",
    "drop-factor": "twenty drops per milliliter",
    "counted": "forty two drops per minute",
}
CLAIMS = [
    (path.stem, step, index, settled)
    for path in sorted(FOLDER.glob("*.yaml"))
    for index, step in enumerate(procedure(path.stem).steps)
    if isinstance(step, ObservationStep)
    for settled in step.settled
]


@pytest.mark.parametrize(
    ("name", "step", "index", "settled"), CLAIMS, ids=[f"{name}-{step.id}" for name, step, _, _ in CLAIMS]
)
def test_it_is_refused_before_and_taken_after(name: str, step: ObservationStep, index: int, settled: Settled) -> None:
    machine = Machine(procedure(name))
    at = State(status="running", performer="41", today=TODAY.isoformat(), frames=(Frame(None, index),))
    for reply in settled.replies:
        state, said = machine.step(at, Replied(at_ms=0, phrase=reply))
        assert machine.current(state) == step
        assert [say.tone for say in said] == ["refusal"] and "Not yet" in said[0].text
        for branch in settled.branches:
            back = State(**vars(at) | {"frames": (Frame(None, index, (branch,)),)})
            assert machine.current(machine.step(back, Replied(at_ms=0, phrase=reply))[0]) != step


def test_there_are_some() -> None:
    assert {step.id for name, step, *_ in CLAIMS if name == "infusion-rate"} == {"second-person"}


def test_it_holds_through_a_pause_and_a_call_and_is_gone_when_the_step_is_begun_anew() -> None:
    script = INFUSION | {"second-person": ("second person comes",)}
    going = walk(procedure("infusion-rate"), script, to="second-person")
    going.say("two figures agreed")
    assert going.walker.texts() == ["Not yet. That holds only after: Independent check."]
    going.answer()
    going.out_of("second-check-now")
    anew = going.fork().say("go back").to("second-person").say("two figures agreed")
    assert anew.step == "second-person"
    going.say("pause", "resume", "still valid", "called away").out_of("called-away").say("two figures agreed")
    assert going.step == "flow"


def test_a_check_that_failed_is_no_check() -> None:
    """The branch leads to a recount and never comes back to the step."""
    going = walk(procedure("infusion-rate"), INFUSION | {"second-person": ("second person comes",)}, to="second-person")
    going.answer()
    going.figure("forty two drops per minute").check("forty one drops per minute")
    assert going.branch == "figures-disagree"
    going.to("second-person").say("two figures agreed")
    assert going.step == "second-person"


def test_a_branch_that_does_not_come_back_cannot_settle_anything() -> None:
    text = (FOLDER / "infusion-rate.yaml").read_text(encoding="utf-8")
    once = "branches: [second-check-now]"
    assert text.count(once) == 1
    with pytest.raises(ProcedureError, match="`refused` is not one that this step leads to and that comes back to it"):
        load_text(text.replace(once, "branches: [refused]"))
