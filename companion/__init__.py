"""A voice-guided companion for clinical procedures: a training aid that defers to local policy.

From Python: `load` a procedure, walk through it with a `Guide` or from memory in a `Rehearsal`, `read_record`, `hear` a
sound file. Each is loaded when it is first used.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from companion.door import Guide, Rehearsal, hear, load, read_record

__version__ = "0.1.0"

__all__ = ["Guide", "Rehearsal", "hear", "load", "read_record"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from companion import door

    return getattr(door, name)
