"""Asking again, well: after speech that was not taken, and after silence."""

from companion.core.kinds.base import Phrases, Say, fill, shown
from companion.core.procedure import Procedure, Step
from companion.core.state import State

_SPOKEN_OPTIONS = 4


def again(row: int, allowed: Phrases) -> tuple[Say, ...]:
    """After speech that was not taken; `row` counts this one too. At first a tone has to do; each sentence comes once,
    and then nothing is said until something is taken: it may be talk that is not meant for the program."""
    if row == 2:
        return (options(allowed),)
    return (Say("Still not taken. The keyboard takes the same words.", "answer"),) if row == 3 else ()


def nudge(state: State, step: Step | None, procedure: Procedure) -> tuple[Say, ...]:
    """After a long silence."""
    return (Say(f"Still here. {_short(state, step, procedure)}".rstrip()),)


def options(allowed: Phrases) -> Say:
    """What can be said: the step's own first, a few of them; the screen shows the rest."""
    own = [phrase for phrase, meaning in allowed.items() if meaning.kind not in ("control", "branch")]
    if len(own) > _SPOKEN_OPTIONS:
        own = [own[0], own[-1]]
        return Say(f"You can say a value such as: {own[0]}; or: {own[1]}.", "answer")
    others = [phrase for phrase, meaning in allowed.items() if meaning.kind == "control"]
    return Say("You can say: " + "; or: ".join(own or others) + ".", "answer")


def restate(before: str, last: Step, state: State) -> tuple[Say, ...]:
    """After a break: the last confirmed step, to be confirmed again (a design choice of ours)."""
    given = state.values.get(last.id)
    detail = f", {shown(given)}" if given is not None else ""
    return (Say(f"{before} Last confirmed was: {last.title}{detail}. Is that so still, or not?".strip(), "read back"),)


def _short(state: State, step: Step | None, procedure: Procedure) -> str:
    if step is None or state.status != "running":
        return ""
    return fill(step.short or step.title, procedure, state)
