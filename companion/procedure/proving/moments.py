"""What may be said or happen at a state, and doing it: by the machine's own phrases, timers and seals.

Of phrases with one meaning the first is taken. Of values, one stands for all that no limit or choice in the file tells
apart; a figure worked out is right, wrong, or one that somebody has given already. Time passes to a second after the
next timer; the very moment at which it runs out is like one side or the other. Speech that is not taken and silence
change nothing but what is said, nor do the controls that only answer.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Literal

from companion.machine import moves
from companion.machine.machine import Machine
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Meaning
from companion.procedure.proving.regions import Regions
from companion.procedure.steps import Step
from companion.session.events import Missed, Opened, Replied, Resumed, Sealed, Started, TimeUp
from companion.session.seals import seal
from companion.session.state import State
from companion.speech.value_phrases import phrases_for
from companion.speech.values import TagValue, Value, ValueSpec

TODAY = date(2030, 3, 4)
"""Any day; dates in a file count from the day of the session."""

PERFORMER, OTHER = "41", "00"
_ANSWERS_ONLY = ("repeat", "why", "help")
_PAST_MS = 1000
_FROM_HELD = ("leaving", "restating")
"""In these a branch is taken just as in `held` at the same step."""
_BREAKS = ("held", *_FROM_HELD)
"""A program that is started again in a break asks what it would ask if it were started again before the break."""


@dataclass(frozen=True)
class Move:
    """Something said, time that passes, or the program being started again. `value` is what a secret phrase means."""

    kind: Literal["said", "time", "again"]
    phrase: str = ""
    value: Value | None = None
    after_ms: int = 0


@dataclass(frozen=True, eq=False)
class Scene:
    """A state, and the figures that are under seal in it. One is like another only by its likeness, never equal."""

    state: State
    figures: Mapping[str, Value] = field(default_factory=dict)


AGAIN = Move("again")


class Moments:
    """The moves of one procedure's machine."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self._regions = Regions(machine.procedure, TODAY)

    def first(self) -> Scene:
        """A session that has just begun."""
        performer = PERFORMER.zfill(self.machine.tag().digits)
        started = Started(at_ms=0, performer=performer, today=TODAY.isoformat())
        return Scene(self.machine.step(State(), started)[0])

    def moves(self, scene: Scene, due_ms: int | None) -> Iterator[Move]:
        """Everything that may be said or happen, one of each sort; at `due_ms` the timer to wait for runs out."""
        state = scene.state
        spec = self.machine.spec(state)
        seen: set[tuple[str, str]] = set()
        secret = False
        for phrase, meaning in self.machine.allowed(state).items():
            if spec is not None and meaning.value is not None and meaning.value.type == spec.type:
                secret = secret or meaning.secret
                continue
            if meaning.kind == "branch" and state.status in _FROM_HELD:
                continue
            sort = (meaning.kind, meaning.arg if meaning.value is None else _person(meaning.value, state))
            if sort not in seen and not _only_answers(meaning):
                seen.add(sort)
                yield Move("said", phrase)
        if spec is not None:
            said = _phrases_of(spec, self.machine.procedure.language)
            for value in self._values(scene, spec, secret):
                yield Move("said", said[value.text], value if secret else None)
        if due_ms is not None:
            yield Move("time", after_ms=max(0, due_ms - state.at_ms) + _PAST_MS)
        if state.status not in _BREAKS and self._tried_again(state):
            yield AGAIN

    def take(self, scene: Scene, move: Move) -> tuple[tuple[State, ...], Scene]:
        """The states a move leads through, one for each event, and where it ends."""
        state = scene.state
        if move.kind == "again":
            after = self.machine.step(state, Resumed(at_ms=state.at_ms))[0]
            return (after,), Scene(after)
        if move.kind == "time":
            states = tuple(self._pass(state, state.at_ms + move.after_ms))
            return states, Scene(states[-1], scene.figures)
        if move.value is None:
            after = self.machine.step(state, Replied(at_ms=state.at_ms, phrase=move.phrase))[0]
            return (after,), Scene(after, scene.figures)
        return self._seal(scene, move.value)

    def _pass(self, state: State, until: int) -> Iterator[State]:
        while not state.ended:
            due = {timer: at for timer, at in self.machine.timers(state).items() if at <= until}
            if not due:
                state = self.machine.step(state, Missed(at_ms=until, why="other"))[0]
                yield state
                return
            first = min(due, key=lambda timer: due[timer])
            state = self.machine.step(state, TimeUp(at_ms=max(state.at_ms, due[first]), timer=first.text))[0]
            yield state

    def _tried_again(self, state: State) -> bool:
        """Not further on in a branch while a figure of the steps around it is under seal, which would be everywhere."""
        owner = moves.seal_owner(self.machine.procedure, state)
        if owner is None or (state.frames[-1].index == 0 and state.status == "running"):
            return True
        return owner in (step.id for step in moves.steps_of(self.machine.procedure, state.frames[-1].branch))

    def _seal(self, scene: Scene, value: Value) -> tuple[tuple[State, ...], Scene]:
        step = self.machine.current(scene.state)
        assert step is not None  # a value is asked for
        figures = {**scene.figures, step.id: value}
        at_ms = scene.state.at_ms
        states = [self.machine.step(scene.state, Sealed(at_ms=at_ms, seal=seal(value, step.id)))[0]]
        opening = self.machine.to_open(states[0])
        if opening is not None:
            first, second = opening
            body: dict[str, object] = {"at_ms": at_ms, "first": figures[first].text, "first_salt": first}
            if second is not None:
                body |= {"second": figures[second].text, "second_salt": second}
            states.append(self.machine.step(states[0], Opened.model_validate(body))[0])
        sealed = {*states[-1].seals.values(), states[-1].here.seal}
        kept = {name: figure for name, figure in figures.items() if seal(figure, name) in sealed}
        return tuple(states), Scene(states[-1], kept)

    def _values(self, scene: Scene, spec: ValueSpec, secret: bool) -> tuple[Value, ...]:
        step = self.machine.current(scene.state)
        if isinstance(spec, TagValue) or step is None:
            digits = spec.digits if isinstance(spec, TagValue) else len(OTHER)
            return tuple(Value(type="tag", text=text) for text in (scene.state.performer, OTHER.zfill(digits)))
        found = self._regions.values(step.id, spec, scene.state.values)
        if not secret and not step.checks:
            return found
        first = scene.state.values.get(step.checks)
        known = (*scene.figures.values(), first, self._right(scene.state))
        given = self._regions.of(spec, [value for value in known if value is not None])
        apart = dict.fromkeys((*given, *found))
        return (*apart, *self._regions.another(spec, apart))

    def _right(self, state: State) -> Value | None:
        """What the figure should be that is asked for, where the program can work it out."""
        asked: Step = self.machine.turn_at(state, state.at_ms).step
        if asked.checks:
            asked = self.machine.procedure.step(asked.checks)
        own: Value | None = KINDS[asked.kind].own(self.machine.procedure, asked, state.values)
        return own


def _only_answers(meaning: Meaning) -> bool:
    return meaning.kind == "control" and meaning.arg in _ANSWERS_ONLY


def _person(value: Value, state: State) -> str:
    """Of tags it counts only whose they are."""
    return "performer" if value.text == state.performer else value.type


@lru_cache(maxsize=256)
def _phrases_of(spec: ValueSpec, language: str) -> Mapping[str, str]:
    """The first phrase of each value, by the value's text."""
    said: dict[str, str] = {}
    for phrase, value in phrases_for(spec, TODAY, language=language).items():
        said.setdefault(value.text, phrase)
    return said
