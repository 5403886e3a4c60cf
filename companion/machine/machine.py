"""The step machine: `(state, event) -> (state, what to say)`. Pure; a record folds through it."""

from collections.abc import Iterable

from companion.errors import EventRefused
from companion.machine import moves
from companion.machine.asked import Asked
from companion.machine.asking import again, nudge
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Meaning, Result, Say
from companion.session.events import AnyEvent, Missed, Opened, Replied, Resumed, Sealed, Silent, Started, TimeUp
from companion.session.state import Done, Here, Phase, State, replace
from companion.session.timers import Timer
from companion.speech.language import tell

Says = tuple[Say, ...]

_WHY = frozenset({"naming", "held", "leaving", "restating", Phase.READ_BACK})
"""The program's own questions, by status, and by phase of a step: each can say why it is asked."""


class Machine(Asked):
    """One procedure's machine. Holds no state of its own.

    `step` raises EventRefused, with the state unchanged, for an event that cannot happen there.
    """

    def step(self, state: State, event: AnyEvent) -> tuple[State, Says]:
        """The next state and what is said. Raises EventRefused."""
        if event.at_ms < state.at_ms:
            raise EventRefused(f"event {event.kind} at {event.at_ms} ms is earlier than the last at {state.at_ms} ms")
        if state.ended:
            raise EventRefused(f"event {event.kind} comes after the session was {state.status}")
        if (state.status == "new") != isinstance(event, Started):
            raise EventRefused(f"event {event.kind} does not fit a session that is {state.status}")
        state = replace(state, at_ms=event.at_ms)
        try:
            return self._dispatch(state, event)
        except ValueError as fault:
            raise EventRefused(f"event {event.kind} cannot be taken: {fault}") from fault

    def fold(self, events: Iterable[AnyEvent]) -> State:
        """The state that a list of events leads to. Raises EventRefused."""
        state = State()
        for event in events:
            state, _ = self.step(state, event)
        return state

    def _dispatch(self, state: State, event: AnyEvent) -> tuple[State, Says]:
        match event:
            case Started():
                return self._started(state, event)
            case Replied():
                return self._replied(moves.taken(state), event)
            case Missed():
                return self._missed(state, event)
            case Silent():
                return self._silent(state)
            case TimeUp():
                return self._time_up(state, event)
            case Sealed():
                return self._sealed(moves.taken(state), event)
            case Opened():
                return self._opened(state, event)
            case Resumed():
                return self._resumed(state)

    def _started(self, state: State, event: Started) -> tuple[State, Says]:
        state = replace(state, performer=event.performer, today=event.today, mode=event.mode)
        state = replace(state, notes=event.notes)
        if not event.performer:
            return self._name_again(state)
        return self._begin(state)

    def _begin(self, state: State) -> tuple[State, Says]:
        return self._enter(replace(state, status="running", frames=moves.START, here=Here()))

    def _replied(self, state: State, event: Replied) -> tuple[State, Says]:
        meaning = self.allowed(state).get(event.phrase)
        if meaning is None:
            raise ValueError(f"`{event.phrase}` is not among the phrases allowed here")
        if meaning.secret:
            raise ValueError("a figure that has to stay hidden came without its seal")
        if state.status == "naming":
            return self._named(state, event.phrase, meaning)
        if meaning.kind == "control" and not self._is_read_back(state, meaning):
            return self._control(state, meaning.arg)
        if meaning.kind == "branch":
            return self._take_branch(state, meaning.arg)
        turn = self.turn_at(state, event.at_ms)
        return self._apply(state, KINDS[turn.step.kind].reply(turn, event.phrase, meaning), event.phrase)

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

    def _missed(self, state: State, event: Missed) -> tuple[State, Says]:
        if state.status == "held":
            return state, ()
        here = state.here
        unclear, row = here.misses + (event.why == "unclear"), here.row + event.told
        state = replace(state, here=replace(here, misses=unclear, row=row))
        return state, again(row, self.offers(state)) if event.told else ()

    def _silent(self, state: State) -> tuple[State, Says]:
        if not self.may_nudge(state):
            return state, ()
        state = replace(state, here=replace(state.here, silences=state.here.silences + 1))
        return state, nudge(self.question(state, short=True), self.procedure.language)

    def _time_up(self, state: State, event: TimeUp) -> tuple[State, Says]:
        timer = Timer.parse(event.timer)
        due = self.timers(state).get(timer)
        if due is None or event.at_ms < due:
            raise ValueError(f"timer `{event.timer}` is not running out now")
        state = replace(state, fired=state.fired | {timer})
        owner = self.procedure.step(timer.step)
        step = self.current(state)
        if state.status != "running":
            return state, ()
        if step is None or owner.id != step.id:
            return state, (Say(self._tell("time is up", title=owner.title), "note"),)
        turn = self.turn_at(state, event.at_ms)
        return self._apply(state, KINDS[step.kind].time_up(turn, timer), "")

    def _sealed(self, state: State, event: Sealed) -> tuple[State, Says]:
        if state.status != "running" or not any(meaning.secret for meaning in self.allowed(state).values()):
            raise ValueError("no figure is asked for under seal here")
        turn = self.turn_at(state, event.at_ms)
        return self._apply(state, KINDS[turn.step.kind].sealed(turn, event.seal), "(sealed)")

    def _opened(self, state: State, event: Opened) -> tuple[State, Says]:
        if self.to_open(state) is None:
            raise ValueError("no seal is to be opened here")
        turn = self.turn_at(state, event.at_ms)
        return self._apply(replace(state, seals={}), KINDS[turn.step.kind].opened(turn, event), "(opened)")

    def _resumed(self, state: State) -> tuple[State, Says]:
        """What was sealed and not opened went with the program that held it: both figures are asked anew."""
        if not state.frames:
            return self._name_again(state)
        owner = moves.seal_owner(self.procedure, state)
        if owner is not None:
            state = moves.back_to(self.procedure, state, owner)
        return self._restate(state, self._tell("interrupted"))

    # Results of a step

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

    # The program's own phrases

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
        state = replace(state, status="held")
        return state, (Say(f"{told} {self.question(state)}", "answer"),)

    def _ask_control(self, state: State, control: str) -> tuple[State, Says]:
        step = self.current(state)
        asking = state.here.phase if state.status == "running" else state.status
        own_question = self._tell(f"why {asking}") if asking in _WHY else None
        if control == "repeat":
            if step is not None and step.tells_parts and state.status == "running":
                return self._enter(state)
            asked_back = state.status in ("leaving", "restating") or state.here.phase == Phase.READ_BACK
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
        return self._apply(state, Result(state.here, done=True, note="left out"), self.words["leave out"][0])

    def _go_back(self, state: State) -> tuple[State, Says]:
        earlier = moves.last_done(self.procedure, state)
        if earlier is None:
            return state, (Say(self._tell("no step before"), "refusal"),)
        return self._enter(moves.back_to(self.procedure, state, earlier.id), self._tell("one step back"))

    def _restate(self, state: State, before: str) -> tuple[State, Says]:
        last = moves.last_done(self.procedure, state)
        if last is None:
            return self._enter(state, before)
        state = replace(state, status="restating")
        return state, (Say(f"{before} {self.question(state)}".strip(), "read back"),)

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

    def _tell(self, key: str, **fields: object) -> str:
        return tell(self.procedure.language, key, **fields)

    def _is_read_back(self, state: State, meaning: Meaning) -> bool:
        return state.status == "running" and meaning.arg in ("right", "wrong")
