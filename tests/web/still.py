"""A session that stands still where it is put, so that each of its pictures can be looked at."""

from dataclasses import replace

from companion.machine.machine import Machine
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Say, Turn
from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.session.events import Started
from companion.session.state import Frame, Here, State
from companion.web.bedside import Bedside
from tests.conversation.rig import Screen


class Still:
    """A session that stands still where it is put."""

    def __init__(self, procedure: Procedure) -> None:
        self.machine = Machine(procedure)
        started = Started(at_ms=0, performer="41", today="2030-03-04")
        self.state, self.says = self.machine.step(State(), started)
        self.page = Bedside(procedure, Screen(), hears=True, type_line=lambda _: True)

    def now_ms(self) -> int:
        return self.state.at_ms

    def put(self, branch: str | None, index: int) -> None:
        """Ask that step."""
        frames = (Frame(branch, index),) if branch is None else (Frame(None, 0), Frame(branch, index))
        state = replace(self.state, status="running", frames=frames, here=Here(), fired=frozenset())
        step = self.machine.current(state)
        assert step is not None
        result = KINDS[step.kind].ask(Turn(self.machine.procedure, state, step, state.at_ms))
        self.show(replace(state, here=result.here), result.says)

    def show(self, state: State, says: tuple[Say, ...]) -> None:
        """Say it all, then listen."""
        self.state = state
        for say in says:
            self.page.display.says(say)
        self.page.display.listening(tuple(self.machine.allowed(state)))


def always_due(procedure: Procedure) -> Procedure:
    """The same with every step asked, whatever local policy has set: each is to be read where it comes."""

    def asked(steps: tuple[Step, ...]) -> tuple[Step, ...]:
        return tuple(step.model_copy(update={"when": None}) for step in steps)

    branches = tuple(each.model_copy(update={"steps": asked(each.steps)}) for each in procedure.branches)
    return procedure.model_copy(update={"steps": asked(procedure.steps), "branches": branches})
