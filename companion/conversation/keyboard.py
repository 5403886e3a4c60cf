"""Typed lines mean what spoken phrases mean."""

from datetime import date

from companion.errors import UsageError
from companion.machine.machine import Machine
from companion.meaning.typed import parse_typed
from companion.procedure.described import alerts_of
from companion.procedure.kinds.base import Phrases
from companion.session.state import State

_SHOWN = 8


def typed_phrase(line: str, allowed: Phrases, machine: Machine, state: State) -> str:
    """The allowed phrase that a typed line stands for: its own words, or a value in figures with its unit.

    Raises UsageError, one sentence saying what is accepted.
    """
    words = " ".join(line.lower().strip(" .!?").split())
    if words in allowed:
        return words
    spec = machine.spec(state)
    if spec is not None:
        today, alerted = date.fromisoformat(state.today), alerts_of(machine.current(state))
        value = parse_typed(spec, line, today, machine.procedure.language, alerted)
        for phrase, meaning in allowed.items():
            if meaning.value == value:
                return phrase
    raise UsageError(f"`{line.strip()[:60]}` is not a reply here; accepted: {_listed(machine.offers(state).phrases())}")


def _listed(phrases: tuple[str, ...]) -> str:
    more = "" if len(phrases) <= _SHOWN else f"; and {len(phrases) - _SHOWN} more"
    return "; ".join(phrases[:_SHOWN]) + more
