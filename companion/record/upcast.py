"""Older record versions stay readable: each step lifts an entry from one version to the next.

The chain is checked on the bytes as written; only then are entries lifted.
"""

from collections.abc import Callable, Mapping

from companion.record.entry import Entry
from companion.record.first_entry import RECORD_VERSION

Step = Callable[[Entry], Entry]


def _no_sound(entry: Entry) -> Entry:
    """Version 2 brought entries of two more kinds, `agreement` and `sound`; the others are as they were."""
    return entry


def _phrases_alone(entry: Entry) -> Entry:
    """Version 3 brought events of one more kind, `asked back`, and replies that tell how they were understood; what
    tells nothing was said as a phrase."""
    return entry


STEPS: Mapping[int, Step] = {1: _no_sound, 2: _phrases_alone}
"""From a version to the one after it."""


def upcast(entry: Entry, version: int, steps: Mapping[int, Step] = STEPS, to: int = RECORD_VERSION) -> Entry:
    """`entry`, written in `version`, as version `to` would have it."""
    for step in range(version, to):
        entry = steps[step](entry)
    return entry
