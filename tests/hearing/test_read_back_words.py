"""The short answers to a read-back, heard at a dose: each is taken, and none for its opposite.

Flite's four voices by the real scorer at the strict threshold; flite is synthetic, so this says nothing of rates.
"""

import pytest

from companion.hearing.decoys import decoys_for
from companion.hearing.scorer.engine import PhraseScorer
from companion.machine.machine import Machine
from companion.ports.recogniser import Expected
from companion.session.events import Replied
from companion.session.state import State
from tests.hearing.scorer_parts import scorer_model
from tests.hearing.synthetic_speech import flite
from tests.machine.everywhere import states
from tests.procedures.library import procedure

MACHINE = Machine(procedure("subcutaneous-insulin"))
VOICES = ("slt", "rms", "awb", "kal16")


def dose_read_back() -> State:
    for state in states("subcutaneous-insulin"):
        step = MACHINE.current(state)
        if state.status == "running" and state.here.phase == "read back" and step and step.id == "ordered-dose":
            return state
    raise AssertionError("no read-back of the dose was reached")


@pytest.mark.parametrize(
    ("said", "taken"),
    [
        *((word, "right") for word in ("right", "yes", "that's right", "correct")),
        *((word, "wrong") for word in ("wrong", "no", "not right", "that's not right", "incorrect")),
        *((word, word) for word in ("help", "repeat", "why")),
    ],
)
def test_a_short_answer_is_taken_for_what_it_is(said: str, taken: str) -> None:
    state = dose_read_back()
    allowed = MACHINE.allowed(state)
    phrases = tuple(allowed)
    assert MACHINE.strict(state)
    expected = Expected(phrases, decoys_for(phrases), True, MACHINE.harmless(state))
    scorer = PhraseScorer(scorer_model())
    try:
        heard = [scorer.decide(flite(said, voice), expected) for voice in VOICES]
    finally:
        scorer.close()
    meant = [allowed[str(each.phrase)].arg for each in heard if each.verdict == "accepted"]
    assert meant == [taken] * len(VOICES), [(each.verdict, each.phrase, each.reason) for each in heard]
    after = [MACHINE.step(state, Replied(at_ms=state.at_ms, phrase=str(each.phrase)))[0] for each in heard]
    assert all(("ordered-dose" in each.values) == (taken == "right") for each in after)


def test_what_only_has_something_said_need_not_be_surer_than_elsewhere() -> None:
    """One "help" at a read-back was refused as not clear enough; at any other question it would have been taken."""
    state = dose_read_back()
    harmless = MACHINE.harmless(state)
    assert {"help", "repeat", "why", "wrong"} <= harmless
    after = [MACHINE.step(state, Replied(at_ms=state.at_ms, phrase=phrase))[0] for phrase in sorted(harmless)]
    assert all(each.values == state.values and each.done == state.done for each in after)
