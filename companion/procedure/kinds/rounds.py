"""A time that runs again and again while a step waits for its answer. Counted in `Here.item`."""

from collections.abc import Mapping

from companion.procedure.kinds.base import Result, S, Say, Turn
from companion.session.state import replace
from companion.session.timers import For, Timer, timer_of


def round_timer(turn: Turn[S]) -> Mapping[Timer, int]:
    """The timer of the round that runs now, where the step has rounds."""
    every = turn.step.rounds
    if every is None:
        return {}
    number = turn.here.item + 1
    return {timer_of(turn.step.id, For.ROUND, number): turn.here.since_ms + number * every.time * 1000}


def round_up(turn: Turn[S]) -> Result:
    """A round is over: rounds that went by unseen, as in a pause, count too and are told once."""
    every = turn.step.rounds
    assert every is not None  # only such a step has the timer
    over = (turn.at_ms - turn.here.since_ms) // (every.time * 1000)
    here = replace(turn.here, item=over, silences=0)
    branch = every.then if every.most is not None and over >= every.most else None
    return Result(here, (Say(turn.filled(every.say), "caution"),), branch=branch)
