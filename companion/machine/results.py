"""What comes of an answer: the next step, a branch, or the end."""

from companion.machine import moves
from companion.machine.asked import Asked
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Result, Say
from companion.session.state import Done, Here, State, replace
from companion.speech.language import tell

Says = tuple[Say, ...]


class Results(Asked):
    """Carries out what a step makes of an event."""

    def _apply(self, state: State, result: Result, phrase: str) -> tuple[State, Says]:
        values = {**state.values, **(result.values or {})}
        step = self.current(state)
        assert step is not None  # only a step that is asked gives a result
        seals = state.seals if result.seal is None else {**state.seals, step.id: result.seal}
        checker = state.checker if result.checker is None else result.checker
        state = replace(state, here=result.here, values=values, seals=seals, checker=checker)
        if result.branch is not None:
            state, says = self._take_branch(state, result.branch)
            return state, result.says + says
        if not result.done:
            return state, result.says
        done = Done(step.id, state.frames[-1].branch, phrase, state.at_ms, result.note)
        state, says = self._advance(replace(state, done=(*state.done, done)))
        return state, result.says + says

    def _advance(self, state: State) -> tuple[State, Says]:
        """On to the next step that is due, out of a branch that is over, or to the end."""
        return self._enter(moves.forward(state))

    def _after_last(self, state: State) -> tuple[State, Says]:
        """Out of the list whose steps are all done."""
        branch_id = state.frames[-1].branch
        if branch_id is None:
            return replace(state, status="finished", frames=(), here=Here()), (Say(self._tell("complete"), "answer"),)
        ending = self.procedure.branch(branch_id).ends
        if ending.do == "abandon":
            reason = ending.reason or branch_id
            return replace(state, status="abandoned", outcome=reason, here=Here()), (
                Say(self._tell("abandoned", reason=reason.rstrip(".")), "answer"),
            )
        if ending.do == "again" and ending.step is not None:
            state = moves.next_note(state, ending.step)
            return self._enter(moves.back_to(self.procedure, moves.out_of_branches(state), ending.step))
        state = moves.out_of_branch(state)
        if state.frames[-1].broken_off:
            return self._restate(moves.settled(state), self._tell("back"))
        return self._enter(state, self._tell("back"))

    def _enter(self, state: State, before: str = "") -> tuple[State, Says]:
        """Ask the step that the state now points at afresh, or the next one that is due."""
        lead = (Say(before, "note"),) if before else ()
        state = moves.pass_over(self.procedure, state)
        if not moves.step_exists(self.procedure, state.frames[-1]):
            state, says = self._after_last(state)
            return state, lead + says
        state = moves.forget_timers(replace(state, status="running", here=Here()), self.current(state))
        turn = self.turn_at(state, state.at_ms)
        result = KINDS[turn.step.kind].ask(turn)
        note = state.note(turn.step.id)
        return replace(state, here=result.here), lead + ((Say(note.text, "note"),) if note else ()) + result.says

    def _take_branch(self, state: State, branch_id: str) -> tuple[State, Says]:
        branch = self.procedure.branch(branch_id)
        if state.status != "running":
            state = moves.broken_off(state)
        times = state.entered.get(branch_id, 0)
        if branch.most is not None and branch.then is not None:
            if times >= branch.most:
                state, says = self._take_branch(state, branch.then)
                return state, (Say(self._tell("too often", title=branch.title, times=times), "caution"), *says)
            state = replace(state, entered={**state.entered, branch_id: times + 1})
        return self._enter(moves.into_branch(state, branch_id), self._tell("branch", title=branch.title))

    def _restate(self, state: State, before: str) -> tuple[State, Says]:
        last = moves.last_done(self.procedure, state)
        if last is None:
            return self._enter(state, before)
        state = replace(state, status="restating")
        return state, (Say(f"{before} {self.question(state)}".strip(), "read back"),)

    def _tell(self, key: str, **fields: object) -> str:
        return tell(self.procedure.language, key, **fields)
