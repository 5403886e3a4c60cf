"""The event that begins a session."""

from collections.abc import Mapping

from companion.ports.clock import Clock
from companion.session.events import Started, StepNote


def started(performer: str, clock: Clock, mode: str, notes: tuple[StepNote, ...] = ()) -> Started:
    """The event that begins a session now. The day is the local one: labels and orders carry local dates."""
    today = clock.utc().astimezone().date().isoformat()
    body: Mapping[str, object] = {"at_ms": 0, "performer": performer, "today": today, "mode": mode, "notes": notes}
    return Started.model_validate(body)
