"""Taking a model's files out of an archive: no path that leads outside, no more than was announced."""

import hashlib
import shutil
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from companion.errors import ModelError
from companion.models.catalogue import Model

_MOST_FILES = 500
_CHUNK = 1 << 20


def digest(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def unpack(archive: Path, model: Model, folder: Path) -> None:
    """Write the model's files into the new `folder`. Raises ModelError for an archive that does not hold them."""
    folder.mkdir()
    prefix = model.source.folder
    try:
        with zipfile.ZipFile(archive) as bundle:
            members = [m for m in bundle.infolist() if m.filename.startswith(prefix) and not m.is_dir()]
            if model.files:
                members = [m for m in members if m.filename.removeprefix(prefix) in model.files]
            if not members or len(members) > _MOST_FILES:
                raise ModelError(f"{model.id}: what was fetched does not hold the folder {prefix}; nothing was kept")
            left = model.size
            for member in members:
                name = member.filename.removeprefix(prefix)
                _check_name(model, name, member)
                left -= _write(bundle, member, folder / name, left, model)
    except (zipfile.BadZipFile, NotImplementedError, EOFError, zlib.error, RuntimeError, ValueError) as error:
        # RuntimeError is what the library says of an encrypted file, NotImplementedError of a way of packing it has not
        raise ModelError(f"{model.id}: what was fetched is damaged ({error}); nothing was kept") from error


def _check_name(model: Model, name: str, member: zipfile.ZipInfo) -> None:
    parts = PurePosixPath(name).parts
    is_link = (member.external_attr >> 16) & 0o170000 == 0o120000
    if not parts or name.startswith("/") or "\\" in name or ":" in name or ".." in parts or is_link:
        raise ModelError(f"{model.id}: the archive holds a file `{name}` that leads elsewhere; nothing was kept")


def _write(bundle: zipfile.ZipFile, member: zipfile.ZipInfo, path: Path, left: int, model: Model) -> int:
    """One file, refused as soon as it grows past `left` bytes; the bytes written."""
    path.parent.mkdir(parents=True, exist_ok=True)
    written = 0
    with bundle.open(member) as packed, path.open("xb") as plain:
        while chunk := packed.read(_CHUNK):
            written += len(chunk)
            if written > left:
                shutil.rmtree(path.parent, ignore_errors=True)
                raise ModelError(f"{model.id}: the archive holds more than the catalogue says; nothing was kept")
            plain.write(chunk)
    return written
