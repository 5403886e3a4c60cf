"""Where entries of the session record go."""

from collections.abc import Mapping
from typing import Any, Protocol


class RecordSink(Protocol):
    """An append-only record. When `append` returns, the entry is durable; when it raises, stop the session."""

    def append(self, kind: str, body: Mapping[str, Any], at_ms: int) -> None:
        """Write one entry. `kind` names it, `body` holds JSON values (no floats: times are integer
        milliseconds, doses decimal strings), `at_ms` is the session time. Raises RecordError."""

    def close(self) -> None: ...
