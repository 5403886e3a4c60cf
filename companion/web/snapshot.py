"""What the page at the point of care shows: one whole picture of the session, made from its state and what was said."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from companion.machine.machine import Machine
from companion.procedure.due import is_due
from companion.procedure.kinds.base import Say, fill
from companion.procedure.steps import Step
from companion.session.state import State
from companion.session.timers import For
from companion.speech.language import tell

Doing = Literal[
    "starting",
    "speaking",
    "listening",
    "typing",
    "waiting",
    "held",
    "ended",
    "abandoned",
    "not passed",
    "undecided",
    "not judged",
    "closed",
]
"""`typing`: a reply is due and there is no microphone. `waiting`: it listens while a shortest time runs.
`ended`: signed, or a rehearsal that has passed. `closed`: the program has stopped."""

_REPLIES = 12
_RUNNING: Mapping[For, Literal["at least", "at most", "look"]] = {
    For.LEAST: "at least",
    For.MOST: "at most",
    For.LOOK: "look",
}
"""What is shown of the timers that are shown."""


@dataclass(frozen=True)
class Running:
    """`left_ms` of session time to go when the picture was made."""

    title: str
    what: Literal["at least", "at most", "look"]
    left_ms: int


@dataclass(frozen=True)
class Asking:
    """The words in large type. `instruction` is the step's own; `asked` is what was said beyond it and waits for a
    reply; `remark` is what was said besides, in `tone`."""

    instruction: str = ""
    asked: tuple[str, ...] = ()
    remark: str = ""
    tone: str = "note"


@dataclass(frozen=True)
class Place:
    """Where in the procedure: `Step 3 of 9`, and in which branch."""

    title: str = ""
    where: str = ""
    branch: str = ""
    critical: bool = False


def asking(machine: Machine, before: State, now: State, said: Sequence[Say], last: Asking) -> Asking:
    """The words for state `now`, of whose says `said` have been spoken so far; `before` is the state it came from and
    `last` what was shown then."""
    step = machine.current(now)
    instruction = fill(step.say, machine.procedure, now) if step is not None and now.status == "running" else ""
    caution = caution_of(machine, now)
    beside = (instruction, tell(machine.procedure.language, "caution", text=caution))
    rest = [say for say in said if say.text not in beside]
    if step is not None and step.shortest and waits(machine, now):
        # The timer tells how long; the words that were said of it are soon wrong.
        rest = [say for say in rest if say.tone != "prompt"]
    if _asked_again(before, now):
        return Asking(instruction, last.asked, _joined(rest), "refusal")
    questions = [say for say in rest if say.tone in ("prompt", "read back")]
    told = [say for say in rest if say.tone not in ("prompt", "read back")]
    instructed = bool(instruction) and any(say.text == instruction for say in said)
    if not questions and not instructed and any(say.tone != "note" for say in told):
        questions, told = [say for say in told if say.tone != "note"], [say for say in told if say.tone == "note"]
    asked = tuple(say.text for say in questions)
    if not asked and not instructed and _same_question(before, now):
        asked = last.asked
    loudest = next((say.tone for say in told if say.tone in ("caution", "refusal")), "note")
    return Asking(instruction, asked, _joined(told), loudest)


def caution_of(machine: Machine, state: State) -> str:
    """The caution of the step that is up, or nothing."""
    step = machine.current(state)
    if step is None or step.caution is None or state.status != "running":
        return ""
    return fill(step.caution, machine.procedure, state)


def place_of(machine: Machine, state: State) -> Place:
    """The step that is up, and how far along it is."""
    step = machine.current(state)
    if step is None:
        return Place(title=machine.procedure.title)
    frame = state.frames[-1]
    branch = machine.procedure.branch(frame.branch) if frame.branch is not None else None
    steps = machine.procedure.steps if branch is None else branch.steps
    asked = [each.id for each in steps if is_due(machine.procedure, state.values, each) is not False]
    where = tell(machine.procedure.language, "step of", number=asked.index(step.id) + 1, count=len(asked))
    return Place(step.title, where, "" if branch is None else branch.title, step.critical)


def timers_of(machine: Machine, state: State, now_ms: int) -> tuple[Running, ...]:
    """Times that are running, the next to run out first."""
    found = []
    for timer, due in sorted(machine.timers(state).items(), key=lambda pair: pair[1]):
        if timer.what in _RUNNING:
            title = machine.procedure.step(timer.step).title
            found.append(Running(title, _RUNNING[timer.what], max(0, due - now_ms)))
    return tuple(found)


def waits(machine: Machine, state: State) -> bool:
    """Whether the step's shortest time, or its time of looking, is still running."""
    return any(timer.what in (For.LEAST, For.LOOK) for timer in machine.own_timers(state))


def replies_of(machine: Machine, state: State) -> tuple[str, ...]:
    """What may be said now: answers first, the abnormal ones before the others; a value is described, never listed. Of
    what leads out of any step only an emergency is shown: the step's own words need the room."""
    offers = machine.offers(state)
    left_out = {offer.phrase for offer in offers.anywhere if not machine.procedure.branch(offer.branch).emergency}
    return tuple(phrase for phrase in offers.phrases() if phrase not in left_out)[:_REPLIES]


def controls_of(machine: Machine, state: State) -> frozenset[str]:
    """Of these, what answers no question: shown last and small."""
    offers = machine.offers(state)
    return frozenset((*(offer.phrase for offer in offers.anywhere), *offers.controls))


def chooses_site(machine: Machine, step: Step | None) -> bool:
    """Whether a place on the body is chosen at this step."""
    medicine = machine.procedure.medicine
    return step is not None and medicine is not None and step.id == medicine.site


def _asked_again(before: State, now: State) -> bool:
    """The state came about by speech that was not taken, or by silence."""
    return before.frames == now.frames and (now.here.row > before.here.row or now.here.silences > before.here.silences)


def _same_question(before: State, now: State) -> bool:
    one, two = before.here, now.here
    return (before.status, before.frames) == (now.status, now.frames) and (one.phase, one.item) == (two.phase, two.item)


def _joined(says: Sequence[Say]) -> str:
    return " ".join(say.text for say in says)
