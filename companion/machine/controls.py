"""What the program's own phrases do."""

from companion.machine import moves
from companion.machine.results import Results, Says
from companion.procedure.kinds.base import Meaning, Result, Say
from companion.session.state import LEFT_OUT, Here, Phase, State, replace

_WHY = frozenset({"naming", "held", "leaving", "restating", Phase.READ_BACK})
"""The program's own questions, by status, and by phase of a step: each can say why it is asked."""


class Controls(Results):
    """Names the performer, holds, goes back, leaves out and restates."""

    def _begin(self, state: State) -> tuple[State, Says]:
        return self._enter(replace(state, status="running", frames=moves.START, here=Here()))

    def _named(self, state: State, phrase: str, meaning: Meaning) -> tuple[State, Says]:
        here = state.here
        if here.phase == Phase.READ_BACK and meaning.arg == "right" and here.pending is not None:
            return self._begin(replace(state, performer=here.pending.text))
        if here.phase == Phase.READ_BACK and meaning.arg == "wrong":
            return self._name_again(state)
        if meaning.value is None:
            return self._control(state, meaning.arg)
        state = replace(state, here=Here(phase=Phase.READ_BACK, pending=meaning.value, pending_phrase=phrase))
        return state, (Say(self.question(state), "read back"),)

    def _name_again(self, state: State) -> tuple[State, Says]:
        state = replace(state, status="naming", here=Here())
        return state, (Say(self.question(state)),)

    def _control(self, state: State, control: str) -> tuple[State, Says]:
        if control in ("pause", "stop"):
            return self._hold(state, self._tell("held"))
        if state.status == "held" and control == "resume":
            if not state.frames:
                return self._name_again(state)
            return self._restate(state, self._tell("going on"))
        if state.status == "held" and control == "end":
            state = replace(state, status="leaving")
            return state, (Say(self.question(state), "read back"),)
        if state.status == "leaving" and control == "wrong":
            return self._hold(state, self._tell("still held"))
        if state.status == "leaving" and control == "right":
            reason = "ended by the performer"
            return replace(state, status="abandoned", outcome=reason), (Say(self._tell("over")),)
        if state.status == "restating" and control in ("stands", "falls"):
            return self._restated(state, control == "stands")
        return self._ask_control(state, control)

    def _hold(self, state: State, told: str) -> tuple[State, Says]:
        state = replace(state, status="held", here=replace(state.here, asked_back=()))
        return state, (Say(f"{told} {self.question(state)}", "answer"),)

    def _ask_control(self, state: State, control: str) -> tuple[State, Says]:
        step = self.current(state)
        asking = state.here.phase if state.status == "running" else state.status
        if self.asked_back(state):
            asking = Phase.READ_BACK
        own_question = self._tell(f"why {asking}") if asking in _WHY else None
        if control == "repeat":
            if step is not None and step.tells_parts and state.status == "running":
                return self._enter(state)
            asked_back = state.status in ("leaving", "restating") or asking == Phase.READ_BACK
            return state, (Say(self.question(state), "read back" if asked_back else "prompt"),)
        if control == "help":
            hint = (Say(step.hint, "answer"),) if step and step.hint and own_question is None else ()
            return state, (*hint, self.offers(state).spoken())
        if control == "why":
            reason = own_question or (step and step.reason) or self._tell("no reason")
            return state, (Say(reason, "answer"),)
        assert step is not None  # what is left counts at steps only
        if control == "go back":
            return self._go_back(state)
        if step.critical:
            return state, (Say(self._tell("critical"), "refusal"),)
        return self._apply(state, Result(state.here, done=True, note=LEFT_OUT), self.words["leave out"][0])

    def _go_back(self, state: State) -> tuple[State, Says]:
        earlier = moves.last_done(self.procedure, state)
        if earlier is None:
            return state, (Say(self._tell("no step before"), "refusal"),)
        return self._enter(moves.back_to(self.procedure, state, earlier.id), self._tell("one step back"))

    def _restated(self, state: State, stands: bool) -> tuple[State, Says]:
        last = moves.last_done(self.procedure, state)
        if stands or last is None:
            step = self.current(state)
            if step is not None and step.runs_on:
                since = state.here.since_ms
                state, says = self._enter(state)
                return replace(state, here=replace(state.here, since_ms=since)), says
            return self._enter(state)
        return self._enter(moves.back_to(self.procedure, state, last.id), self._tell("that step again"))

    def _is_read_back(self, state: State, meaning: Meaning) -> bool:
        return state.status == "running" and meaning.arg in ("right", "wrong")
