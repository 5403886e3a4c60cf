"""Keeps the figures that are under seal. In memory only: what is in nobody's record nobody can read."""

import secrets

from companion.session.events import Opened
from companion.session.seals import seal
from companion.speech.values import Value


class Envelope:
    """One salt a step, so that the same figure said twice bears the same seal."""

    def __init__(self) -> None:
        self._salts: dict[str, str] = {}
        self._last: dict[str, Value] = {}

    def put(self, step_id: str, value: Value) -> str:
        """The seal of `value` for a step. A later figure for the same step takes the place of the earlier."""
        salt = self._salts.setdefault(step_id, secrets.token_hex(16))
        self._last[step_id] = value
        return seal(value, salt)

    def holds(self, *step_ids: str | None) -> bool:
        """Whether the figures of these steps are here; None stands for no step."""
        return all(name is None or name in self._last for name in step_ids)

    def open(self, first: str, second: str | None, at_ms: int) -> Opened:
        """Open the seal of step `first`, and of `second` where there is one; both are then forgotten."""
        one, one_salt = self._last.pop(first), self._salts.pop(first)
        if second is None:
            return Opened(at_ms=at_ms, first=one.text, first_salt=one_salt)
        two, two_salt = self._last.pop(second), self._salts.pop(second)
        return Opened(at_ms=at_ms, first=one.text, first_salt=one_salt, second=two.text, second_salt=two_salt)
