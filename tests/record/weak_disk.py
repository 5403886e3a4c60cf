"""A disk in memory that loses power: what was not synced may be there, half there, or gone.

Modelled on what POSIX allows: until a file is synced any of its writes may be dropped, cut short, or leave zeros
where a sector did not arrive; until a folder is synced a new name may be missing.
"""

import errno
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

SECTOR = 64
"""Bytes that arrive together; small, so that most entries span several."""


class PowerOut(BaseException):
    """The machine is off. Not an Exception: no handler of the program runs any more."""


@dataclass
class _Node:
    durable: bytes = b""
    now: bytes = b""
    waiting: list[bytes | int] = field(default_factory=list)
    """Since the last sync, in order: bytes appended, or a size truncated to."""
    name_durable: bool = False


class WeakDisk:
    """A `FileLayer`. Power goes at the `out_at`-th call that changes something."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.nodes: dict[Path, _Node] = {}
        self.open_files: dict[int, Path] = {}
        self.locked: set[Path] = set()
        self.out_at = -1
        self.losses = 0

    def make_folder(self, folder: Path) -> None:
        """Folders are always there."""

    def create(self, path: Path) -> int:
        if path in self.nodes:
            raise FileExistsError(errno.EEXIST, "File exists")
        self.nodes[path] = _Node()
        self._tick()
        return self._descriptor(path)

    def open(self, path: Path) -> int:
        if path not in self.nodes:
            raise FileNotFoundError(errno.ENOENT, "No such file")
        return self._descriptor(path)

    def lock(self, fd: int) -> bool:
        path = self.open_files[fd]
        if path in self.locked:
            return False
        self.locked.add(path)
        return True

    def read(self, fd: int) -> bytes:
        return self.nodes[self.open_files[fd]].now

    def write(self, fd: int, data: bytes) -> int:
        node = self.nodes[self.open_files[fd]]
        node.now += data
        node.waiting.append(data)
        self._tick()
        return len(data)

    def stands_at(self, fd: int, path: Path) -> bool:
        return self.open_files[fd] == path and path in self.nodes

    def truncate(self, fd: int, size: int) -> None:
        node = self.nodes[self.open_files[fd]]
        node.now = node.now[:size]
        node.waiting.append(size)
        self._tick()

    def sync(self, fd: int) -> None:
        self._tick()
        node = self.nodes[self.open_files[fd]]
        node.durable, node.waiting = node.now, []

    def sync_folder(self, folder: Path) -> None:
        self._tick()
        for path, node in self.nodes.items():
            if path.parent == folder:
                node.name_durable = True

    def remove(self, path: Path) -> None:
        del self.nodes[path]

    def close(self, fd: int) -> None:
        self.locked.discard(self.open_files.pop(fd))

    def lose_power(self) -> None:
        """Settle what is on the disk once the machine is on again."""
        self.losses += 1
        self.out_at = -1
        self.open_files.clear()
        self.locked.clear()
        for path, node in list(self.nodes.items()):
            if not node.name_durable and self.random.random() < 0.5:
                del self.nodes[path]
                continue
            node.name_durable = True
            node.durable = self._settled(node)
            node.now, node.waiting = node.durable, []

    def _settled(self, node: _Node) -> bytes:
        there = node.durable
        for change in node.waiting:
            fate = self.random.choice(["kept", "dropped", "cut", "holes"])
            if fate == "dropped":
                return there
            if isinstance(change, int):
                there = there[:change]
            elif fate == "kept":
                there += change
            elif fate == "cut":
                return there + change[: self.random.randrange(len(change) + 1)]
            else:
                sectors = [change[i : i + SECTOR] for i in range(0, len(change), SECTOR)]
                return there + b"".join(s if self.random.random() < 0.5 else bytes(len(s)) for s in sectors)
        return there

    def _descriptor(self, path: Path) -> int:
        fd = max(self.open_files, default=2) + 1
        self.open_files[fd] = path
        return fd

    def _tick(self) -> None:
        self.out_at -= 1
        if self.out_at == 0:
            raise PowerOut


class LyingDisk(WeakDisk):
    """Says that it has synced and has not: the tests must notice it."""

    def sync(self, fd: int) -> None:
        assert fd in self.open_files
        self._tick()
