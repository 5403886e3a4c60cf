"""The public keys this machine knows: its own, and those somebody has said to trust."""

import re
from dataclasses import dataclass
from pathlib import Path

from companion.errors import RecordError, UsageError
from companion.plainfiles import is_plain, read_plain
from companion.record.files import DiskFiles, put_new
from companion.record.keys import key_id

SUFFIX = ".pub"
_LARGEST = 4096
_KEY = re.compile(r"[0-9a-f]{64}\Z")
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}\Z")


@dataclass(frozen=True)
class Trusted:
    """A key that is known."""

    public: str
    """64 lower-case hex digits."""
    path: Path
    """The file it stands in; without that file it is known no more."""

    @property
    def name(self) -> str:
        return self.path.name.removesuffix(SUFFIX)


def trusted_keys(folder: Path) -> list[Trusted]:
    """Every key in a file `*.pub` of `folder`, in the order of the names; a file that holds none counts for nothing.

    Raises RecordError when the folder cannot be listed."""
    try:
        paths = sorted(path for path in folder.iterdir() if path.suffix == SUFFIX) if folder.exists() else []
    except OSError as fault:
        raise RecordError(f"{folder}: the known keys cannot be read ({fault.strerror})") from fault
    return [Trusted(public, path) for path in paths if (public := _key_in(path))]


def known_keys(folder: Path) -> frozenset[str]:
    """The public keys this machine knows, 64 lower-case hex digits each. Raises RecordError."""
    return frozenset(each.public for each in trusted_keys(folder))


def trust(folder: Path, given: str, name: str = "") -> Trusted:
    """Know a key from now on: `given` are its 64 hex digits, or the path of a file that holds them. `name` is for
    people; left out, the short name of the key stands for it. A key that is known stays under the name it has.

    Raises UsageError, and RecordError when it cannot be kept.
    """
    public = given.strip().lower() if _KEY.match(given.strip().lower()) else _key_in(Path(given).expanduser())
    if not public:
        what = "holds no public key" if is_plain(Path(given).expanduser()) else "is no public key and no file of one"
        raise UsageError(f"{given}: {what}; accepted: 64 hexadecimal digits, or the signer's signing{SUFFIX}")
    there = next((each for each in trusted_keys(folder) if each.public == public), None)
    if there is not None:
        return there
    called = name or key_id(public)
    if not _NAME.match(called):
        raise UsageError(f"--name {called!r}: up to 40 lower-case letters, figures and hyphens are accepted")
    path, files = folder / f"{called}{SUFFIX}", DiskFiles()
    try:
        files.make_folder(folder)
        put_new(files, path, f"{public}\n".encode("ascii"))
        files.sync_folder(folder)
    except FileExistsError as fault:
        raise UsageError(f"--name {called}: another key has that name; accepted: a name of its own") from fault
    except OSError as fault:
        raise RecordError(f"{path}: the key cannot be kept ({fault.strerror})") from fault
    return Trusted(public, path)


def _key_in(path: Path) -> str:
    """The key that a file holds; empty where it holds none, or is no file."""
    try:
        text = read_plain(path, _LARGEST).decode("ascii", "replace").strip().lower()
    except OSError:
        return ""
    return text if _KEY.match(text) else ""
