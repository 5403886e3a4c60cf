"""The few things a record asks of a file system, behind a port so that tests can let them fail."""

import contextlib
import errno
import os
import secrets
import stat
import sys
from pathlib import Path
from typing import Protocol

from companion.plainfiles import BARE, PlainFolder, open_plain

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


class FileLayer(Protocol):
    """Every call raises OSError when the operating system does."""

    def make_folder(self, folder: Path) -> None:
        """Make `folder` and what is above it, open to its owner alone; one that is there stays as it is."""

    def create(self, path: Path) -> int:
        """A new file, 0600, for appending; its descriptor. Raises FileExistsError when there is one."""

    def open(self, path: Path) -> int:
        """An existing plain file, for reading and appending; its descriptor."""

    def lock(self, fd: int) -> bool:
        """Become the only writer; False when someone else is. Held until the descriptor is closed."""

    def read(self, fd: int) -> bytes:
        """The whole file."""

    def write(self, fd: int, data: bytes) -> int:
        """One write at the end of the file; the number of bytes taken, which may be fewer."""

    def stands_at(self, fd: int, path: Path) -> bool:
        """Whether the file that is open is the one of that name, and no link to it."""

    def truncate(self, fd: int, size: int) -> None: ...

    def sync(self, fd: int) -> None:
        """Return when the file's bytes are on the disk itself."""

    def sync_folder(self, folder: Path) -> None:
        """Return when the names in `folder` are on the disk itself."""

    def remove(self, path: Path) -> None: ...

    def close(self, fd: int) -> None: ...


class DiskFiles:
    """The operating system's own files."""

    def make_folder(self, folder: Path) -> None:
        missing = [p for p in (folder, *folder.parents) if not p.exists()]
        for part in reversed(missing):
            part.mkdir(mode=0o700, exist_ok=True)
            self.sync_folder(part.parent)
        if not stat.S_ISDIR(folder.stat().st_mode):
            raise NotADirectoryError(errno.ENOTDIR, "not a folder", str(folder))

    def create(self, path: Path) -> int:
        return os.open(path, os.O_CREAT | os.O_EXCL | os.O_APPEND | os.O_RDWR | BARE, 0o600)

    def open(self, path: Path) -> int:
        return open_plain(path, os.O_APPEND | os.O_RDWR)

    def lock(self, fd: int) -> bool:
        try:
            if sys.platform == "win32":
                os.lseek(fd, 0x7FFF0000, os.SEEK_SET)  # far past the end: readers are not kept out
                msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
            else:
                fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except (BlockingIOError, PermissionError):
            return False
        return True

    def read(self, fd: int) -> bytes:
        os.lseek(fd, 0, os.SEEK_SET)
        parts = []
        while part := os.read(fd, 1 << 20):
            parts.append(part)
        return b"".join(parts)

    def write(self, fd: int, data: bytes) -> int:
        return os.write(fd, data)

    def stands_at(self, fd: int, path: Path) -> bool:
        try:
            return os.path.samestat(os.fstat(fd), path.lstat())
        except FileNotFoundError:
            return False

    def truncate(self, fd: int, size: int) -> None:
        os.ftruncate(fd, size)

    def sync(self, fd: int) -> None:
        if sys.platform == "darwin":
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)  # fsync alone stops at the drive's own cache there
        else:
            os.fsync(fd)

    def sync_folder(self, folder: Path) -> None:
        if sys.platform == "win32":
            return  # Windows has no call for it: names are journalled with the file
        fd = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)

    def remove(self, path: Path) -> None:
        path.unlink()

    def close(self, fd: int) -> None:
        os.close(fd)


def add(files: FileLayer, fd: int, data: bytes) -> None:
    """Write at the end of an open file, durably. Raises OSError, also when only a part was taken."""
    if files.write(fd, data) != len(data):
        raise OSError(errno.ENOSPC, "only a part was written; is the disk full?")
    files.sync(fd)


def put_new(files: FileLayer, path: Path, data: bytes) -> None:
    """A new file with `data` in it, durable but for its name. Raises OSError, also when only a part was taken."""
    fd = files.create(path)
    try:
        add(files, fd, data)
    finally:
        files.close(fd)


def put_over(files: FileLayer, path: Path, data: bytes) -> None:
    """The file at `path` with `data` in it, new or in place of what is there, which stays whole until the new one is.
    Durable on return. Raises OSError."""
    draft = path.with_name(f"{path.name}.{secrets.token_hex(4)}.new")
    try:
        files.make_folder(path.parent)
        put_new(files, draft, data)
        draft.replace(path)
        files.sync_folder(path.parent)
    finally:
        with contextlib.suppress(OSError):  # mostly it has its name by now; where it never was, that has been said
            draft.unlink()


def overwrite(fd: int) -> None:
    """Fill an open file with zeros and empty it, both durably. Raises OSError."""
    files, size = DiskFiles(), os.fstat(fd).st_size
    while size > 0:
        size -= os.write(fd, bytes(min(size, 1 << 20)))
    files.sync(fd)
    os.ftruncate(fd, 0)
    files.sync(fd)


def destroy(path: Path) -> None:
    """Overwrite a plain file, as far as a program can, and take it away. A link is taken away, never what it points to.
    Raises OSError, also for a folder."""
    if not path.is_symlink():
        _emptied(open_plain(path, os.O_RDWR))
    path.unlink()


def destroy_in(folder: PlainFolder, name: str) -> None:
    """The same for a plain file in a folder that is held open."""
    _emptied(folder.open(name, os.O_RDWR))
    folder.remove(name)


def _emptied(fd: int) -> None:
    try:
        overwrite(fd)
    finally:
        os.close(fd)
