"""The rules, watched along a session. Each remembers as little as it needs."""

from collections.abc import Hashable
from dataclasses import dataclass

from companion.procedure.always import AlwaysOpen, Deed, NeverEndsWithout, NeverLeftWithout, NeverWithout, Rule
from companion.procedure.due import is_due
from companion.procedure.model import Procedure
from companion.session.state import LEFT_OUT, Done, State

Memory = Hashable


@dataclass(frozen=True)
class Broken:
    """A rule does not hold here: `missing` are the deeds not done."""

    missing: tuple[Deed, ...]


def standing(state: State) -> frozenset[str]:
    """The steps that stand confirmed. One that was left out does not."""
    return frozenset(entry.step for entry in state.done if _counts(entry))


def watch(procedure: Procedure, rule: Rule, memory: Memory, old: State, new: State) -> tuple[Memory, Broken | None]:
    """What to remember from `old` on to `new`, and whether the rule is broken by it. The first memory is None.

    A deed of which a step is not due is not asked for.
    """
    remembered, broken = _watched(rule, memory, old, new)
    if broken is None:
        return remembered, None
    due = [deed for deed in broken.missing if all(_may_be_due(procedure, old, name) for name in deed)]
    return remembered, Broken(tuple(due)) if due else None


def _may_be_due(procedure: Procedure, state: State, name: str) -> bool:
    return is_due(procedure, state.values, procedure.step(name)) is not False


def _watched(rule: Rule, memory: Memory, old: State, new: State) -> tuple[Memory, Broken | None]:
    match rule:
        case NeverWithout():
            return None, _never_without(rule, old, new)
        case NeverEndsWithout():
            return _never_ends_without(rule, memory, old, new)
        case NeverLeftWithout():
            return _never_left_without(rule, memory, old, new)
        case AlwaysOpen():
            return None, None


def _counts(entry: Done) -> bool:
    return entry.note != LEFT_OUT


def _confirmed(old: State, new: State) -> list[str]:
    if new.done is old.done:
        return []
    before = {id(entry) for entry in old.done}
    return [entry.step for entry in new.done if id(entry) not in before and _counts(entry)]


def _fell(old: State, new: State) -> frozenset[str]:
    """The steps that stood and do not any more. What stood long before is remembered, and may be missing from both."""
    return frozenset() if new.done is old.done else standing(old) - standing(new)


def _missing(needs: tuple[Deed, ...], done: frozenset[str]) -> Broken | None:
    missing = tuple(deed for deed in needs if not done & set(deed))
    return Broken(missing) if missing else None


def _never_without(rule: NeverWithout, old: State, new: State) -> Broken | None:
    if any(step in rule.step for step in _confirmed(old, new)):
        return _missing(rule.needs, standing(old))
    return None


def _never_ends_without(rule: NeverEndsWithout, memory: Memory, old: State, new: State) -> tuple[Memory, Broken | None]:
    """Remembers each deed that asks for others, the latest last, with those done since.

    A deed that its performer takes back was none. One that has to be done again, since a branch leads back before it,
    was done all the same: nobody can take it back any more, so it is remembered without its name.
    """
    owed: tuple[tuple[str, frozenset[str]], ...] = memory or ()  # type: ignore[assignment]
    if new.done is not old.done:
        fell = _fell(old, new)
        taken_back = len(new.frames) == len(old.frames)
        for number, (name, _) in reversed(list(enumerate(owed))):
            if name in fell:
                owed = (*owed[:number], *owed[number + 1 :]) if taken_back else _fixed(owed, number)
        for step in _confirmed(old, new):
            if step in rule.after:
                again = [number for number, (name, _) in enumerate(owed) if name == step]
                owed = (*(_fixed(owed, again[-1]) if again else owed), (step, frozenset()))
            elif any(step in deed for deed in rule.needs):
                owed = tuple((name, since | {step}) for name, since in owed)
        owed = tuple((name, since - fell) for name, since in owed)
    if new.ended and owed and old.status != "leaving":
        return owed, _missing(rule.needs, owed[-1][1])
    return owed or None, None


def _fixed(owed: tuple[tuple[str, frozenset[str]], ...], number: int) -> tuple[tuple[str, frozenset[str]], ...]:
    """Without the name of one; those before it ask for nothing that it does not ask for."""
    return (("", owed[number][1]), *owed[number + 1 :])


def _never_left_without(rule: NeverLeftWithout, memory: Memory, old: State, new: State) -> tuple[Memory, Broken | None]:
    """Remembers what was done in the branch while it is open, also where it lies below what is walked and not shown."""
    was, now = _place(rule.branch, old), _place(rule.branch, new)
    inside = isinstance(memory, frozenset)
    done: frozenset[str] = memory if isinstance(memory, frozenset) else frozenset()
    if inside and new.done is not old.done:
        done |= {step for step in _confirmed(old, new) if any(step in deed for deed in rule.needs)}
    if inside and (new.ended or (was is not None and now is None)):
        return None, _missing(rule.needs, done) if old.status != "leaving" else None
    if now is not None and (was is None or (now == 0 and was > 0)):  # entered, or begun again
        return frozenset(), None
    return done - _fell(old, new) if inside else None, None


def _place(branch: str, state: State) -> int | None:
    """How far into a branch it is; None outside of it."""
    if state.ended:
        return None
    return next((frame.index for frame in state.frames if frame.branch == branch), None)
