"""What an event changed, as the machine decided it: each entry tells it, so that many records can be counted without
taking every event through the machine again. Doing so gives the same, and counts where they differ."""

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import ConfigDict

from companion.machine.machine import Machine
from companion.procedure.kinds.base import Say
from companion.session.events import AnyEvent
from companion.session.state import State, Status
from companion.speech.values import Frozen


class Came(Frozen):
    """A step that came to stand confirmed, or left out."""

    step: str
    note: str
    """As in `state.Done`."""


class Change(Frozen):
    """What one event changed."""

    status: Status
    """After it."""
    step: str
    """Id of the step that is up after it; empty when none is."""
    done: tuple[Came, ...] = ()
    undone: tuple[str, ...] = ()
    """Ids of steps that stood confirmed and have to be done again."""
    performer: str = ""
    """The performer's tag, where it was not known before."""


def decided(machine: Machine, before: State, after: State) -> Change:
    """What changed between two states."""
    new, gone = after.done[len(before.done) :], tuple[str, ...]()
    if after.done[: len(before.done)] != before.done:
        new = tuple(done for done in after.done if done not in before.done)
        gone = tuple(done.step for done in before.done if done not in after.done)
    step = machine.current(after)
    return Change(
        status=after.status,
        step="" if step is None else step.id,
        done=tuple(Came(step=done.step, note=done.note) for done in new),
        undone=gone,
        performer=after.performer if after.performer != before.performer else "",
    )


def entry_body(event: AnyEvent, says: Iterable[Say], change: Change) -> dict[str, Any]:
    """The body of an event's entry: JSON values without floats."""
    return {
        "event": event.model_dump(mode="json", exclude_defaults=True) | {"kind": event.kind},
        "says": [{"text": say.text, "tone": say.tone} for say in says],
        **change.model_dump(mode="json", exclude_defaults=True),
    }


class Told(Change):
    """An event with what it changed, as its entry tells it."""

    model_config = ConfigDict(extra="ignore")
    event: AnyEvent


def told(body: Mapping[str, Any]) -> Told | None:
    """What the body of an event's entry tells; None where it tells of no change, as those of before. Raises pydantic's
    ValidationError (a ValueError) where it is not what a session writes."""
    return Told.model_validate(body) if "status" in body else None
