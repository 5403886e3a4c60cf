"""The step machine: `(state, event) -> (state, what to say)`. Pure; a record folds through it."""

from collections.abc import Iterable

from companion.errors import EventRefused
from companion.machine import moves
from companion.machine.asking import again, nudge
from companion.machine.replies import Replies
from companion.machine.results import Says
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Say
from companion.session.events import (
    AnyEvent,
    AskedBack,
    Missed,
    Opened,
    Replied,
    Resumed,
    Sealed,
    Silent,
    Started,
    TimeUp,
)
from companion.session.state import State, replace
from companion.session.timers import Timer


class Machine(Replies):
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
            after, says = self._dispatch(state, event)
        except ValueError as fault:
            raise EventRefused(f"event {event.kind} cannot be taken: {fault}") from fault
        return moves.gone_on(state, after), says

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
            case AskedBack():
                return self._ask_back(state, event)
            case Missed():
                return self._missed(state, event)
            case Silent():
                return self._silent(state)
            case TimeUp():
                return self._time_up(state, event)
            case Sealed():
                return self._sealed(moves.unasked(moves.taken(state)), event)
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
        asked = tuple(phrase for phrase in state.here.asked_back if self.urgent(state, phrase))
        here = replace(state.here, asked_back=asked, was_asked=asked)  # a yes now answers what is asked now
        state = replace(state, fired=state.fired | {timer}, here=here)
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
