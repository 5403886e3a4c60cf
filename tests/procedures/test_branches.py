"""Every branch of every procedure is gone into by all ways there are, and out again as its file and its facts say; what
may be told at any moment is told at every step.

Whoever has learnt one procedure calls for help in the next in the same words.
"""

from functools import lru_cache

import pytest

from companion.procedure.model import Procedure
from tests.procedures.facts import facts
from tests.procedures.going import go, in_order
from tests.procedures.library import NAMES, Endings, procedure, with_policy
from tests.walk import Walker

WORDS = (
    "this is an emergency",
    "call for help",
    "collapsed just now",
    "not breathing",
    "will not wake up",
    "having a seizure",
)
"""Common practice: signs that the public is taught as well."""


@lru_cache
def endings(name: str, under: str = "") -> Endings:
    """Walked once for all branches; `under` a policy such as `guidance: step by step`."""
    setting, _, value = under.partition(": ")
    return Endings(with_policy(name, **{setting: value}) if under else procedure(name), facts(name).given)


def policies(name: str) -> list[str]:
    return ["", *(f"{setting}: {value}" for setting, value in facts(name).also_under.items())]


BRANCHES = [
    (name, branch.id, under) for name in NAMES for branch in procedure(name).branches for under in policies(name)
]


def ending(found: Procedure, branch: str) -> str:
    """As the facts say; where nobody wrote any, as the file says."""
    ends = found.branch(branch).ends
    return facts(found.id).endings().get(branch, f"again {ends.step}" if ends.do == "again" else ends.do)


@pytest.mark.parametrize(
    ("name", "branch", "under"), BRANCHES, ids=[f"{n}-{b}{'-again' * bool(u)}" for n, b, u in BRANCHES]
)
def test_each_branch_ends_as_it_should(name: str, branch: str, under: str) -> None:
    assert endings(name, under).of(branch) == {ending(procedure(name), branch)}


@pytest.mark.parametrize("name", [name for name in NAMES if facts(name).ends])
def test_every_branch_is_among_the_facts(name: str) -> None:
    assert set(facts(name).endings()) == {branch.id for branch in procedure(name).branches}


@pytest.mark.parametrize("name", NAMES)
def test_an_emergency_is_called_in_the_same_words_everywhere(name: str) -> None:
    walker = Walker(procedure(name))
    allowed = walker.machine.allowed(walker.state)
    led = {allowed[word].arg if word in allowed else "" for word in WORDS}
    assert led == {"emergency"}


@pytest.mark.parametrize("name", NAMES)
def test_what_may_come_at_any_moment_can_be_told_at_every_step(name: str) -> None:
    """Resuscitation Council UK, Adult basic life support, 2021 (from memory): call; compressions for whoever is
    unresponsive and does not breathe normally; on the side only where the breathing is normal."""
    kept = endings(name).trips.kept
    assert len(kept) >= len(procedure(name).steps) - len(facts(name).not_due)
    for at in kept.values():
        for words in procedure(name).branch("emergency").heard:
            going = at.fork().say(words)
            assert going.branch == "emergency"
            said = " ".join(going.walker.texts()).lower()
            assert said.startswith("emergency. call ")
            assert in_order(said, ["breathing", "compressions", "on the side"]), said
        for told in facts(name).anywhere:
            go(at.fork(), told.walk)
