"""What a state asks for: the phrases that may be said, the timers that run, the seals to be opened."""

from collections.abc import Mapping

from companion.core import moves
from companion.core.controls import control_phrases
from companion.core.due import is_due
from companion.core.kinds import KINDS
from companion.core.kinds.base import Meaning, Phrases, Turn
from companion.core.kinds.reading import meanings_of
from companion.core.procedure import CalculationStep, CheckStep, Procedure, SignatureStep, Step, StepBase, WaitStep
from companion.core.state import State
from companion.core.values import TagValue, ValueSpec


class Asked:
    """Reads the state of one procedure; changes nothing."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.words = control_phrases(procedure.language)

    def allowed(self, state: State) -> Phrases:
        """Every phrase that may be said now, with its meaning."""
        if state.status == "naming":
            own = self._tag_phrases(state)
        elif state.status == "running":
            own = dict(self._kind_phrases(state)) | self._branch_phrases(state)
        else:
            own = {}
        return own | self._controls(state)

    def current(self, state: State) -> Step | None:
        """The step that is asked, or None before the start and after the end."""
        if not state.frames or state.ended:
            return None
        return moves.step_at(self.procedure, state.frames[-1])

    def spec(self, state: State) -> ValueSpec | None:
        """The kind of value asked for now, or None when the reply is a phrase."""
        if state.status == "naming" and state.here.phase == "ask":
            return self.tag()
        if state.status != "running":
            return None
        turn = self.turn_at(state, state.at_ms)
        spec: ValueSpec | None = KINDS[turn.step.kind].spec(turn)
        return spec

    def may_nudge(self, state: State) -> bool:
        """Whether a long silence deserves a word: not while held, not during a wait, and at most twice a step."""
        waiting = any(timer.endswith(("/least", "/look")) or "/part-" in timer for timer in self.own_timers(state))
        return state.status not in ("new", "held") and not state.ended and state.here.silences < 2 and not waiting

    def to_open(self, state: State) -> tuple[str, str | None] | None:
        """The steps whose seals have to be opened now: the calculation, and its check where there is one."""
        step = self.current(state)
        if state.status != "running" or state.here.phase != "opening":
            return None
        if isinstance(step, CheckStep):
            return step.of, step.id
        return (step.id, None) if isinstance(step, CalculationStep) else None

    def timers(self, state: State) -> Mapping[str, int]:
        """Timers that have not run out yet: name to session time in ms."""
        if state.status not in ("running", "held", "restating"):
            return {}
        due: dict[str, int] = {}
        # A wait of a branch matters while the branch is open; one nobody took has nothing to say.
        for branch in dict.fromkeys([None, *(frame.branch for frame in state.frames)]):
            due |= self._counted(state, branch)
        due |= self.own_timers(state)
        return {name: at for name, at in due.items() if name not in state.fired}

    def _counted(self, state: State, branch: str | None) -> dict[str, int]:
        """Shortest times counted `since` a step that is done, of the waits in one list of steps."""
        due: dict[str, int] = {}
        for wait in moves.steps_of(self.procedure, branch):
            waiting = isinstance(wait, WaitStep) and is_due(self.procedure, state.values, wait) is not False
            if isinstance(wait, WaitStep) and waiting and wait.since and state.done_at(wait.id) is None:
                since = state.done_at(wait.since)
                if since is not None:
                    due[f"{wait.id}/least"] = since + wait.at_least * 1000
        return due

    def own_timers(self, state: State) -> Mapping[str, int]:
        """The present step's timers that have not run out yet."""
        step = self.current(state)
        if step is None or state.status != "running":
            return {}
        due: Mapping[str, int] = KINDS[step.kind].timers(self.turn_at(state, state.at_ms))
        return {name: at for name, at in due.items() if name not in state.fired}

    def turn_at(self, state: State, at_ms: int) -> Turn[Step]:
        """The step that is up, at a moment. Only while one is up."""
        step = self.current(state)
        assert step is not None  # callers ask only while a step is up
        return Turn(self.procedure, state, step, at_ms)

    def _controls(self, state: State) -> dict[str, Meaning]:
        if state.status in ("new", "finished", "abandoned"):
            return {}
        names: tuple[str, ...] = {
            "held": ("resume", "end"),
            "leaving": ("right", "wrong"),
            "restating": ("stands", "falls", "repeat", "stop"),
            "naming": ("repeat", "stop") if state.here.phase == "ask" else ("right", "wrong", "stop"),
        }.get(state.status, ("repeat", "go back", "pause", "why", "help", "stop"))
        step = self.current(state)
        if state.status == "running" and step is not None and not step.critical:
            names = (*names, "leave out")
        return {word: Meaning("control", name) for name, word in self.words.items() if name in names}

    def _kind_phrases(self, state: State) -> Phrases:
        turn = self.turn_at(state, state.at_ms)
        phrases: Phrases = KINDS[turn.step.kind].phrases(turn)
        return phrases

    def _branch_phrases(self, state: State) -> dict[str, Meaning]:
        if state.here.phase in ("read back", "opening"):
            return {}
        step = self.current(state)
        inside = {frame.branch for frame in state.frames}
        found: dict[str, Meaning] = {}
        for branch in self.procedure.branches:
            here = not branch.at or (step is not None and step.id in branch.at)
            if here and branch.id not in inside:
                found |= {phrase: Meaning("branch", branch.id) for phrase in branch.heard}
        return found

    def _tag_phrases(self, state: State) -> dict[str, Meaning]:
        if state.here.phase == "read back":
            return {}
        turn: Turn[StepBase] = Turn(self.procedure, state, self.procedure.steps[0], state.at_ms)
        return dict(meanings_of(turn, self.tag(), digits=True))

    def tag(self) -> TagValue:
        """How staff tags look in this procedure: as its signature asks for them."""
        tags = [step.tag for step in self.procedure.all_steps() if isinstance(step, SignatureStep)]
        return tags[0] if tags else TagValue(type="tag")
