"""Opening files that somebody else may have put there.

No link is followed at the name itself, no pipe or device is waited for, and nothing is read beyond what such a file can
hold. Every refusal is an OSError whose `strerror` is a plain clause, as the operating system's own are.
"""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Self

BARE = getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOINHERIT", 0)
"""Flags of every opening: bytes as they are, and no child process gets the descriptor."""

_NO_WAITING = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0)
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)
_BY_FOLDER = os.open in os.supports_dir_fd
_LINK = "it is a link, and links are not followed here"


def open_plain(path: Path | str, flags: int = os.O_RDONLY, links: bool = False, folder: int | None = None) -> int:
    """A descriptor of the plain file at `path`, which is a bare name where `folder` is the descriptor of its folder.

    `links` is for what the user names on purpose: a link is then followed, to a plain file only. Raises OSError.
    """
    if "\0" in str(path):
        raise OSError(errno.EINVAL, "no file has a zero byte in its name", str(path))
    if not links and not _NO_LINK and Path(path).is_symlink():
        raise OSError(errno.ELOOP, _LINK, str(path))
    try:
        fd = os.open(path, flags | BARE | _NO_WAITING | (0 if links else _NO_LINK), dir_fd=folder)
    except OSError as fault:
        if fault.errno in (errno.ELOOP, errno.EMLINK) and not links:
            raise OSError(fault.errno, _LINK, str(path)) from fault
        if fault.errno in (errno.ENXIO, errno.EISDIR):  # a pipe nobody reads, a socket; a folder opened for writing
            raise OSError(fault.errno, "a folder or device, not a file", str(path)) from fault
        raise
    if not stat.S_ISREG(os.fstat(fd).st_mode):
        os.close(fd)
        raise OSError(errno.EINVAL, "a folder or device, not a file", str(path))
    return fd


@contextmanager
def opened(path: Path | str, most: int, links: bool = False, folder: int | None = None) -> Iterator[IO[bytes]]:
    """The plain file at `path` for reading, where it has at most `most` bytes. Raises OSError."""
    with os.fdopen(open_plain(path, links=links, folder=folder), "rb") as file:
        if os.fstat(file.fileno()).st_size > most:
            raise OSError(errno.EFBIG, f"it is larger than {_size(most)}, which no such file is", str(path))
        yield file


def read_plain(path: Path | str, most: int, links: bool = False, folder: int | None = None) -> bytes:
    """The bytes of the plain file at `path`, at most `most` of them. Raises OSError."""
    with opened(path, most, links, folder) as file:
        data = file.read(most + 1)
    if len(data) > most:  # it grew under our hands
        raise OSError(errno.EFBIG, f"it is larger than {_size(most)}, which no such file is", str(path))
    return data


def is_plain(path: Path, links: bool = False) -> bool:
    """Whether a plain file stands at `path`; with `links` also by a link. False for a name that no file can have."""
    try:
        return stat.S_ISREG((path.stat() if links else path.lstat()).st_mode)
    except (OSError, ValueError):
        return False


class PlainFolder:
    """A folder that is no link, held open: what is read or taken away by name is in this very folder, whatever its
    path leads to by then. Where the system cannot hold a folder (Windows), names are joined to its path."""

    def __init__(self, path: Path) -> None:
        """Raises OSError; FileNotFoundError where there is none."""
        self.path = path
        if path.is_symlink():  # said before the system's own "not a directory"
            raise OSError(errno.ELOOP, _LINK, str(path))
        self._fd = os.open(path, os.O_RDONLY | os.O_DIRECTORY | _NO_LINK | BARE) if _BY_FOLDER else None
        if self._fd is None and not path.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, "not a folder", str(path))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._fd is not None:
            os.close(self._fd)

    def names(self) -> list[str]:
        """What is in it, in the order of the names."""
        return sorted(entry.name for entry in os.scandir(self.path if self._fd is None else self._fd))

    def read(self, name: str, most: int) -> bytes:
        """A plain file in it. Raises OSError."""
        return read_plain(self._of(name), most, folder=self._fd)

    def open(self, name: str, flags: int) -> int:
        """A descriptor of a plain file in it. Raises OSError."""
        return open_plain(self._of(name), flags, folder=self._fd)

    def remove(self, name: str) -> None:
        """Take a name out of it; what a link points to stays. Raises OSError."""
        os.unlink(self._of(name), dir_fd=self._fd)

    def _of(self, name: str) -> Path | str:
        return self.path / name if self._fd is None else name


@contextmanager
def folder_at(path: Path) -> Iterator[PlainFolder | None]:
    """The folder at `path`, held open; None where there is nothing. Raises OSError for anything but a folder."""
    held = None
    with suppress(FileNotFoundError):
        held = PlainFolder(path)
    if held is None:
        yield None
        return
    with held:
        yield held


def _size(count: int) -> str:
    return f"{count // 1024**2} MB" if count >= 1024**2 else f"{count:,} bytes"
