"""What a reply does: said as a phrase or in own words, asked back, taken back."""

from companion.machine import moves
from companion.machine.asking import SILENT_FROM
from companion.machine.controls import Controls
from companion.machine.results import Says
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Meaning, Say
from companion.session.events import AskedBack, Replied
from companion.session.state import Phase, State, replace


class Replies(Controls):
    """Takes a reply, and takes it back."""

    def _replied(self, state: State, event: Replied) -> tuple[State, Says]:
        """What own words were taken for is told first, and can be taken back as long as nothing else is asked."""
        if event.also and event.how != "own words":
            raise ValueError("a phrase answers one thing")
        phrases = self.stands_for(state, event)
        after, says = self._said(state, event.phrase)
        told = [self.told(state, event.phrase)]
        for phrase in phrases[1:]:
            if (after.frames, after.status) != (state.frames, state.status):
                raise ValueError(f"`{phrase}` answers nothing that the same step asks")
            before = after
            after, says = self._said(before, phrase)
            told.append(self.told(before, phrase))
        if event.how != "own words" or not _moved(state, after):
            return after, says
        what = Say(" ".join(self._tell("taken", what=each) for each in told), "note")
        kept = after.done[: len(state.done)] == state.done  # what was undone comes back by doing it again
        if after.status == "running" and kept and not self.asks_right(after):
            after = replace(after, before=replace(state, before=None))
        return after, (what, *says)

    def _said(self, state: State, phrase: str) -> tuple[State, Says]:
        """One phrase. Raises ValueError where it is not allowed."""
        meaning = self.allowed(state).get(phrase)
        if meaning is None:
            raise ValueError(f"`{phrase}` is not among the phrases allowed here")
        if meaning.secret:
            raise ValueError("a figure that has to stay hidden came without its seal")
        if state.status == "naming":
            return self._named(state, phrase, meaning)
        control = meaning.arg if meaning.kind == "control" else ""
        asked = self.asked_back(state)
        if asked and control == "wrong":
            return self._ask_again(state)
        if asked and control == "right":
            phrase = asked[0]
            meaning, control = self.allowed(state)[phrase], ""
        elif state.before is not None and control == "wrong":
            return self._take_back(state, state.before)
        if control and not self._is_read_back(state, meaning):
            return self._control(state, control)
        state = moves.unasked(state)
        if meaning.kind == "branch":
            return self._take_branch(state, meaning.arg)
        turn = self.turn_at(state, state.at_ms)
        return self._apply(state, KINDS[turn.step.kind].reply(turn, phrase, meaning), phrase)

    def stands_for(self, state: State, event: Replied) -> tuple[str, ...]:
        """The phrases that a reply amounted to: to what is asked back `right` is what was asked."""
        asked = self.asked_back(state)
        if asked and self.allowed(state).get(event.phrase) == Meaning("control", "right"):
            return asked
        return event.phrases

    def urgent(self, state: State, phrase: str) -> bool:
        """Whether a phrase leads to an emergency."""
        meaning = self.allowed(state).get(phrase)
        return meaning is not None and meaning.kind == "branch" and self.procedure.branch(meaning.arg).emergency

    def may_ask_back(self, state: State, phrase: str) -> bool:
        """Not while the program asks right or wrong of something else, nor when it has fallen silent over talk; of an
        emergency all the same."""
        if state.status != "running" or state.here.phase == Phase.OPENING:
            return False
        return self.urgent(state, phrase) or (state.here.phase != Phase.READ_BACK and state.here.row < SILENT_FROM)

    def _ask_back(self, state: State, event: AskedBack) -> tuple[State, Says]:
        if not self.may_ask_back(state, event.phrase):
            raise ValueError("nothing is asked back here")
        # Nothing was taken: what is asked back in vain again and again is talk among people.
        state = replace(state, here=replace(state.here, row=state.here.row + 1))
        if not event.phrase:
            if state.here.bare:
                raise ValueError("a mere yes or no was answered here already")
            state = replace(state, here=replace(state.here, bare=True))
            return state, (Say(self.question(state, short=True)), self.offers(state).spoken())
        meaning = self.allowed(state).get(event.phrase)
        if meaning is None or meaning.secret or meaning.kind == "control":
            raise ValueError(f"`{event.phrase}` cannot be asked back here")
        if event.phrases == state.here.was_asked and not self.urgent(state, event.phrase):
            raise ValueError(f"`{event.phrase}` was asked back last")
        if event.also:  # a step asks them in turn, or nothing is asked
            self._replied(state, Replied(at_ms=event.at_ms, phrase=event.phrase, also=event.also, how="own words"))
        here = replace(state.here, asked_back=event.phrases, was_asked=event.phrases)
        state = replace(state, here=here, before=None)
        return state, (Say(self.question(state), "read back"),)

    def _ask_again(self, state: State) -> tuple[State, Says]:
        state = replace(state, here=replace(state.here, asked_back=()))
        return state, (Say(self.question(state, short=True)),)

    def _take_back(self, state: State, before: State) -> tuple[State, Says]:
        """Own words are taken back: that step is asked again. Timers that ran out meanwhile have run out."""
        here = replace(before.here, asked_back=(), was_asked=(), bare=False, row=0, misses=0, silences=0)
        state = replace(before, at_ms=state.at_ms, fired=before.fired | state.fired, here=here)
        return state, (Say(self._tell("that step again"), "note"), Say(self.question(state, short=True)))


def _moved(before: State, after: State) -> bool:
    """Whether a phrase led on, to another step or to what the same step asks next."""
    return (before.frames, before.here.item, before.status) != (after.frames, after.here.item, after.status)
