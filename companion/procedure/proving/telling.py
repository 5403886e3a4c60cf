"""Rules, and ways on which they are broken, in words."""

from companion.machine.machine import Machine
from companion.procedure.always import AlwaysOpen, Deed, NeverEndsWithout, NeverLeftWithout, NeverWithout, Rule
from companion.procedure.proving.exploring import Counterexample, Said
from companion.session.state import State
from companion.speech.durations import said

MOST_LINES = 25
_FIRST = 3


def rule_in_words(rule: Rule) -> str:
    """The rule as a sentence without its full stop."""
    match rule:
        case NeverWithout():
            stand = "stands" if len(rule.needs) == 1 else "stand"
            return f"{_deed(rule.step)} is never confirmed unless {_deeds(rule.needs)} {stand} confirmed"
        case NeverEndsWithout():
            return f"after {_deed(rule.after)} the session never ends without {_deeds(rule.needs)}"
        case NeverLeftWithout():
            return f"the branch `{rule.branch}` is never left without {_deeds(rule.needs)}"
        case AlwaysOpen():
            return f"the branch `{rule.branch}` can be entered at every moment"


def way_in_words(machine: Machine, rule: Rule, found: Counterexample) -> list[str]:
    """What is said, a line each with its step, and last what is broken by it."""
    lines = [f"at `{_step(machine, each.state)}`: {_move(each)}" for each in found.way]
    if len(lines) > MOST_LINES:
        last = MOST_LINES - _FIRST - 1
        to = _step(machine, found.way[-last].state)
        lines = [*lines[:_FIRST], f"... {len(lines) - _FIRST - last} more, up to `{to}`", *lines[-last:]]
    return [*lines, f"broken: {_broken(machine, rule, found)}"]


def _move(each: Said) -> str:
    match each.move.kind:
        case "said":
            return f'"{each.move.phrase}"'
        case "time":
            return f"{said(-(-each.move.after_ms // 1000))} go by"
        case "again":
            return "the program stops and is started again"


def _broken(machine: Machine, rule: Rule, found: Counterexample) -> str:
    missing = _deeds(found.broken.missing)
    end = found.end
    match rule:
        case NeverWithout():
            stand = "does" if len(found.broken.missing) == 1 else "do"
            return f"{_deed(rule.step)} is confirmed, and {missing} {stand} not stand confirmed."
        case NeverEndsWithout():
            done = f"{_were(found)} not confirmed after {_deed(rule.after)}"
            return f"the session ends ({_ended(end)}), and {missing} {done}."
        case NeverLeftWithout():
            to = f"the session ends ({_ended(end)})" if end.ended else f"it goes on at `{_step(machine, end)}`"
            return f"the branch `{rule.branch}` is left, {to}, and {missing} {_were(found)} not confirmed in it."
        case AlwaysOpen():
            asked = "" if end.status == "running" else f" ({end.status})"
            return f"nothing that may be said at `{_step(machine, end)}`{asked} now enters the branch `{rule.branch}`."


def _ended(state: State) -> str:
    return state.outcome.rstrip(".") or state.status


def _were(found: Counterexample) -> str:
    return "was" if len(found.broken.missing) == 1 else "were"


def _step(machine: Machine, state: State) -> str:
    step = machine.current(state)
    return step.id if step is not None else state.status


def _deed(deed: Deed) -> str:
    return " or ".join(f"`{name}`" for name in deed)


def _deeds(deeds: tuple[Deed, ...]) -> str:
    told = [_deed(deed) if len(deeds) == 1 or len(deed) == 1 else f"({_deed(deed)})" for deed in deeds]
    return " and ".join([", ".join(told[:-1]), *told[-1:]] if len(told) > 1 else told)
