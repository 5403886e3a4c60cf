"""Every kind of state a session of a procedure can come to, found by replying whatever may be replied."""

from collections.abc import Iterator
from copy import copy
from functools import lru_cache

from companion.errors import DoseError
from companion.procedure.kinds.worked_out import CalculationStep, CheckStep, own_figure
from companion.session.state import State
from companion.speech.value_phrases import say_value
from tests.procedures.facts import facts
from tests.procedures.library import procedure
from tests.procedures.walking import Walk
from tests.walk import Walker

Place = tuple[object, ...]


@lru_cache(maxsize=16)
def states(name: str) -> tuple[State, ...]:
    """One state for each step, phase, item and status that can be reached, from the first question on."""
    waiting = [Walker(procedure(name), performer=""), *_straight(name)]
    found = {_place(walker.state): walker.state for walker in waiting}
    while waiting:
        walker = waiting.pop()
        for after in _after(walker):
            if not after.state.ended and _place(after.state) not in found:
                found[_place(after.state)] = after.state
                waiting.append(after)
    return tuple(found.values())


def _straight(name: str) -> Iterator[Walker]:
    """Each moment of a session in which all goes well, by the figures that are known for the procedure."""
    walk = Walk(procedure(name), facts(name).given)
    while not walk.walker.state.ended:
        yield _fork(walk.walker)
        walk.answer()


def _place(state: State) -> Place:
    frame = state.frames[-1] if state.frames else None
    return (state.status, frame and (frame.branch, frame.index), state.here.phase, state.here.item)


def _after(walker: Walker) -> Iterator[Walker]:
    if walker.step:
        later = _fork(walker)
        later.wait(1300)
        yield later
    for phrase in _replies(walker):
        later = _fork(walker)
        # Opening the seals is a moment of its own, in which somebody may call out.
        later.open = lambda: None  # type: ignore[method-assign]
        later.reply(phrase)
        yield _fork(later)
        Walker.open(later)
        yield later


def _replies(walker: Walker) -> Iterator[str]:
    """One phrase of each meaning; of values a few, two tags, and what is right."""
    meanings: dict[tuple[str, str], str] = {}
    values = []
    for phrase, meaning in walker.machine.allowed(walker.state).items():
        if meaning.value is not None:
            values.append(phrase)
        else:
            meanings.setdefault((meaning.kind, meaning.arg), phrase)
    yield from meanings.values()
    chosen = {values[0], values[-1], values[len(values) // 2], values[len(values) // 3]} if values else set()
    chosen |= {"four one", "five two"} & set(values)
    yield from sorted(chosen | ({_own(walker)} & set(values)))


def _own(walker: Walker) -> str:
    step = walker.machine.current(walker.state)
    if isinstance(step, CheckStep):
        step = walker.machine.procedure.step(step.of)
    if not isinstance(step, CalculationStep):
        return ""
    try:
        figure = own_figure(walker.machine.procedure, step, walker.state.values)
    except DoseError:
        return ""
    return say_value(figure, step.value)


def _fork(walker: Walker) -> Walker:
    other = copy(walker)
    other.__dict__.pop("open", None)
    other.events, other.says, other.figures = [], [], dict(walker.figures)
    return other
