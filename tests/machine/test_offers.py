"""What a prompt offers is taken, and nothing reassuring is offered first. Common practice: a question is asked in the
words of its answers; the rest are the design's own rules. Every state of all nine procedures is asked."""

import re
from pathlib import Path

import pytest

from companion.machine.machine import Machine
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.kinds.paced import PacedStep
from companion.procedure.loading import load, load_text
from companion.procedure.model import Procedure
from companion.session.events import Missed, Replied
from companion.session.state import State
from tests.machine.everywhere import states
from tests.procedures.library import FOLDER, procedure
from tests.walk import Walker

NAMES = sorted(path.stem for path in FOLDER.glob("*.yaml"))
DRILL = Path(__file__).parent.parent / "data" / "drill.yaml"
QUESTION = re.compile(r"(?:^|[.:] )(?:Is that )?([\w' ]+?),? or ([\w' ]+)\?$")


def offered(text: str) -> list[str]:
    """`Yes or no?`, `Is that so still, or not?` and `Say: a; or: b.` -> the phrases that are offered."""
    found = QUESTION.search(text)
    if found:
        return [part.lower() for part in found.groups()]
    said = re.search(r"Say: (.+)\.$", text)
    return said[1].split("; or: ") if said else []


def reply(machine: Machine, state: State, phrase: str) -> tuple[State, list[str]]:
    after, says = machine.step(state, Replied(at_ms=state.at_ms, phrase=phrase))
    return after, [say.text for say in says]


def asks_itself(state: State) -> bool:
    """Whether the question is the program's own, and none of the file."""
    return state.status != "running" or state.here.phase == "read back"


def test_the_parser_reads_offers() -> None:
    assert offered("Heard: 18 units. Yes or no?") == ["yes", "no"]
    assert offered("Last confirmed was: Rub. Is that so still, or not?") == ["so still", "not"]
    assert offered("Held. Say: go on; or: end the session.") == ["go on", "end the session"]


@pytest.mark.parametrize("name", NAMES)
def test_the_programs_own_questions_take_what_they_offer(name: str) -> None:
    machine = Machine(procedure(name))
    kinds = set()
    for state in states(name):
        if not asks_itself(state):
            continue
        question = machine.question(state)
        assert question.endswith(("?", ".")) and machine.question(state, short=True) == question
        if state.status == "naming" and state.here.phase == "ask":
            assert "two digits" in question
            continue
        words = offered(question)
        assert len(words) == 2, question
        first, second = (reply(machine, state, word)[0] for word in words)
        assert first != second, question
        kinds.add((state.status, state.here.phase == "read back"))
    assert {("naming", True), ("held", False), ("leaving", False), ("restating", False)} <= kinds
    reads_back = any(getattr(step, "read_back", False) or step.checks for step in procedure(name).all_steps())
    assert (("running", True) in kinds) == reads_back


@pytest.mark.parametrize("name", NAMES)
def test_help_repeat_why_and_stop_answer_at_every_moment(name: str) -> None:
    machine = Machine(procedure(name))
    for state in states(name):
        for word in ("help", "repeat", "why", "stop"):
            after, said = reply(machine, state, word)
            assert said and all(said), (word, state.status)
            if word == "stop":
                assert after.status == "held" and offered(said[-1]), said
            elif word == "repeat" and state.status == "running" and isinstance(machine.current(state), PacedStep):
                # Its parts are told from the first on.
                assert (after.status, after.frames, after.here.item) == (state.status, state.frames, 0)
            else:
                assert (after.status, after.frames, after.here) == (state.status, state.frames, state.here)
                if word == "repeat":
                    assert said == [machine.question(state)]
            if word == "help":
                assert said[-1].startswith("You can say: ")


@pytest.mark.parametrize("name", NAMES)
def test_everything_help_names_is_taken(name: str) -> None:
    machine = Machine(procedure(name))
    for state in states(name):
        spec = machine.spec(state)
        said = reply(machine, state, "help")[1][-1]
        own, _, anywhere = said.removeprefix("You can say: ").removesuffix(".").partition(". At any time: ")
        for phrase in [part for part in f"{own}; or: {anywhere}".split("; or: ") if part]:
            described = re.match(r"a (figure|date|month|time|staff tag)\b", phrase)
            assert phrase in machine.allowed(state) or (spec is not None and described), said
            if not described:
                machine_takes(machine, state, phrase)


def machine_takes(machine: Machine, state: State, phrase: str) -> None:
    if machine.allowed(state)[phrase].secret:
        return  # sealed before the machine sees it
    assert reply(machine, state, phrase)[1]


@pytest.mark.parametrize("name", NAMES)
def test_the_abnormal_is_named_first(name: str) -> None:
    """By help, after a second reply not taken, and on every list: who hears only the reassuring answer gives it."""
    found, machine = procedure(name), Machine(procedure(name))
    walked = set()
    for state in states(name):
        step = machine.current(state)
        if state.status != "running" or step is None or state.here.phase == "read back":
            continue
        allowed = machine.allowed(state)
        here = [branch for branch in found.branches if step.id in branch.at and branch.heard[0] in allowed]
        named = [reply(machine, state, "help")[1][-1], twice_unclear(machine, state)]
        listed = list(machine.offers(state).phrases())
        if isinstance(step, ObservationStep):
            abnormal, normal = [each.replies[0] for each in step.abnormal], step.normal
            here = [branch for branch in here if all(branch.id != each.branch for each in step.abnormal)]
        elif isinstance(step, IdentificationStep):
            item = step.items[state.here.item]
            abnormal, normal = [item.differs[0]], item.agrees
        else:
            abnormal, normal = [], ()
        for said in named:
            for first in abnormal:
                assert first in said, f"{step.id}: `{first}` is not in `{said}`"
                assert all(said.index(first) < said.index(word) for word in normal if f" {word}" in said), said
            assert all(any(word in said for word in branch.heard) for branch in here), said
        assert max((listed.index(word) for word in abnormal), default=-1) < min(
            (listed.index(word) for word in normal), default=len(listed)
        )
        assert listed[-1] == "stop"
        walked.add(step.id)
    wanted = {step.id for step in found.all_steps() if isinstance(step, ObservationStep | IdentificationStep)}
    assert len(walked & wanted) > 0.9 * len(wanted), wanted - walked


def twice_unclear(machine: Machine, state: State) -> str:
    for _ in range(2):
        state, says = machine.step(state, Missed(at_ms=state.at_ms, why="unclear", told=True))
    return says[-1].text


def with_emergency(name: str) -> Procedure:
    """The procedure with a branch of ours that is heard at any moment."""
    text = (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")
    return load_text(text.replace("\nbranches:\n", f"\nbranches:{EMERGENCY}"), name).procedure


EMERGENCY = """
  - id: nobody-breathes
    title: Emergency
    emergency: yes
    heard: [breathing has ended]
    steps:
      - {id: shout-first, kind: action, title: Shout, say: Shout for help., replies: [help was shouted for]}
      - {id: press-chest, kind: action, title: Press, say: Press the chest., replies: [chest is pressed]}
    ends: {do: return, reason: Somebody else has taken over}
"""


@pytest.mark.parametrize("name", NAMES)
def test_an_emergency_is_taken_at_every_moment_of_a_step(name: str) -> None:
    """Also at read-backs, under seal, while it waits, held, restating and leaving. Before the first step, while nobody
    is known and nothing has begun, there is nothing yet to be left for it."""
    machine = Machine(with_emergency(name))
    for state in states(name):
        if not state.frames:
            assert "breathing has ended" not in machine.allowed(state)
            continue
        after, said = reply(machine, state, "breathing has ended")
        assert after.status == "running" and machine.current(after) == machine.procedure.step("shout-first")
        assert said[-1] == "Shout for help."
        assert "breathing has ended" in reply(machine, state, "help")[1][-1].partition(" At any time: ")[2]
        onward, _ = reply(machine, after, "help was shouted for")
        again, _ = reply(machine, onward, "breathing has ended")
        assert machine.current(again) == machine.procedure.step("shout-first"), "inside it is started over"
        assert again.frames[:-1] == onward.frames[:-1]


def test_a_break_that_an_emergency_cut_short_still_confirms_the_last_step() -> None:
    walker = Walker(load(DRILL).procedure)
    walker.replies("rub is in", "pause", "needle stick injury", "wound is washed", "it is reported")
    assert walker.state.status == "restating"
    assert (
        walker.texts()[-1]
        == "Back to where we were. Last confirmed was: Product in the palm. Is that so still, or not?"
    )
    walker.reply("yes")
    asked = (walker.step, [done.step for done in walker.state.done])
    assert asked == ("rub", ["hands-wet", "wash", "report"])


def test_the_reason_of_an_ending_has_one_full_stop() -> None:
    for branch in (branch for name in NAMES for branch in procedure(name).branches if branch.ends.do == "abandon"):
        assert branch.ends.reason
    walker = Walker(load(DRILL).procedure)
    walker.replies("patient refuses", "reason is known")
    assert walker.texts() == ["The procedure is abandoned: refused."]
