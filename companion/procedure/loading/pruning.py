"""Taking the misshapen parts out of a file's data, so that the rest can still be judged."""

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from companion.procedure.loading.place import Path
from companion.procedure.loading.settings import Data

_LISTS = ("steps", "branches", "settings", "sources", "people", "always")
_STAND_INS: dict[str, Data] = {"format": "1", "id": "unnamed", "title": "Unnamed", "summary": "None."}


@dataclass(frozen=True)
class Left:
    """What is left, the ids of what is gone, and the way back to the old indexes."""

    data: dict[str, Data]
    gone: frozenset[str]
    removed: frozenset[Path]

    def original(self, path: Path) -> Path:
        """`path` in the data that is left -> the same place in the data as it was."""
        walked: list[str | int] = []
        for part in path:
            if isinstance(part, int):
                before = tuple(walked)
                for index in sorted(p[-1] for p in self.removed if p[:-1] == before and isinstance(p[-1], int)):
                    if index <= part:
                        part += 1  # noqa: PLW2901  # each entry taken out before it moves it up by one
            walked.append(part)
        return tuple(walked)


def without(data: dict[str, Data], unknown_keys: Iterable[Path], faulty: Iterable[Path]) -> Left:
    """The data without those keys, and without the steps, branches and other entries that hold a faulty path."""
    rest: dict[str, Data] = deepcopy(data)
    for path in unknown_keys:
        holder = _reach(rest, path[:-1])
        if isinstance(holder, dict):
            holder.pop(str(path[-1]), None)
    removed: set[Path] = set()
    for path in faulty:
        cut = _entry(path)
        if cut is not None:
            removed.add(cut)
        elif path and path[0] in _STAND_INS:
            rest[str(path[0])] = _STAND_INS[str(path[0])]
        elif path:
            rest.pop(str(path[0]), None)
    gone: set[str] = set()
    for cut in sorted(removed, key=lambda path: (len(path), str(path[:-1]), path[-1]), reverse=True):
        holder = _reach(rest, cut[:-1])
        if isinstance(holder, list) and isinstance(cut[-1], int) and cut[-1] < len(holder):
            gone |= _ids(holder.pop(cut[-1]))
    return Left(rest, frozenset(gone), frozenset(removed))


def _reach(data: Data, path: Path) -> Any:
    """The value at `path`; parts that are no key (the name of a kind) are passed over."""
    for part in path:
        if isinstance(data, dict) and part in data:
            data = data[str(part)]
        elif isinstance(data, list) and isinstance(part, int) and part < len(data):
            data = data[part]
    return data


def _entry(path: Path) -> Path | None:
    """The innermost step, branch, setting, source or person that holds `path`."""
    cut: Path | None = None
    for end in range(2, len(path) + 1):
        if isinstance(path[end - 1], int) and path[end - 2] in _LISTS:
            cut = path[:end]
    return cut


def _ids(entry: Data) -> set[str]:
    """The ids an entry declares, its inner steps' too."""
    if not isinstance(entry, dict):
        return set()
    name, steps = entry.get("id"), entry.get("steps")
    inner = [_ids(step) for step in steps] if isinstance(steps, list) else []
    return {name, *(each for ids in inner for each in ids)} if isinstance(name, str) else set().union(*inner)
