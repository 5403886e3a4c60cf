"""Sound kept with a record: FLAC clips in a folder beside it, each bound to the chain by its SHA-256.

A clip is durable before the entry of kind `sound` that names it, and that entry says which reply it belongs to.
Entries of kind `agreement` say who allowed it, and whether somebody has taken that back.
"""

import contextlib
import hashlib
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from companion.errors import RecordError
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.record.entry import Entry
from companion.record.files import DiskFiles, FileLayer, destroy, put_new

AGREEMENT = "agreement"
"""Body: `state`, one of given, none, withdrawn, ended; when given `voices` (how many are in the room), `tags` and `by`
(voice or key, each); otherwise `why`."""
SOUND = "sound"
"""Body: `of` (number of the reply's entry), `file`, `sha256` of the file, `ms` (its length)."""

LARGEST = 16 * 1024 * 1024
"""Bytes; an utterance is cut after a few seconds, so no clip comes near this."""

_NAME = re.compile(r"[0-9]{4,9}\.flac\Z", re.ASCII)
_DISK = DiskFiles()


@dataclass(frozen=True)
class Clip:
    """One clip as its entry names it."""

    of: int
    """Number of the entry whose reply it is."""
    file: str
    sha256: str
    ms: int


def sound_folder(record: Path) -> Path:
    """Where the clips of a record lie: under its whole name, so that purging the record takes them along."""
    return record.with_name(f"{record.name}.sound")


def clips_of(entries: Iterable[Entry]) -> tuple[Clip, ...]:
    """The clips that should be there: all that were named since an agreement was last withdrawn."""
    found: list[Clip] = []
    for entry in entries:
        if entry.kind == AGREEMENT and entry.body.get("state") == "withdrawn":
            found.clear()
        elif entry.kind == SOUND:
            of, ms = entry.body.get("of"), entry.body.get("ms")
            name, sha256 = str(entry.body.get("file")), str(entry.body.get("sha256"))
            found.append(Clip(of if type(of) is int else -1, name, sha256, ms if type(ms) is int else 0))
    return tuple(found)


def agreed_tags(entries: Iterable[Entry]) -> tuple[str, ...]:
    """Who has agreed, by tag; empty when nobody was asked, somebody refused, or it does not stand any more."""
    tags: tuple[str, ...] = ()
    for entry in entries:
        if entry.kind == AGREEMENT:
            given = entry.body.get("state") == "given"
            tags = tuple(str(tag) for tag in entry.body.get("tags", ())) if given else ()
    return tags


def misfit_of_clips(record: Path, entries: Sequence[Entry], closed: bool) -> str:
    """What does not fit between the clips beside a record and what its entries name, in plain words; empty when
    nothing is wrong. While a record is open, one clip that no entry names yet is what an interruption leaves."""
    wanted = {clip.file: clip for clip in clips_of(entries)}
    there = _files_in(sound_folder(record))
    missing = [name for name in wanted if name not in there]
    changed = [name for name, clip in wanted.items() if name in there and _fitting(sound_folder(record), clip) is None]
    extra = [name for name in there if name not in wanted]
    if len(extra) == 1 and not closed and extra[0] > max(wanted, default=""):
        extra = []
    parts = [
        f"{len(names)} {'is' if len(names) == 1 else 'are'} {words} ({_some(names)})"
        for names, words in ((missing, "missing"), (changed, "changed"), (extra, "named by no entry"))
        if names
    ]
    return ", ".join(parts)


def read_clip(record: Path, clip: Clip) -> Samples:
    """The sound of a clip, 16 kHz. Raises RecordError when it is missing or not what its entry names."""
    path = sound_folder(record) / clip.file
    data = _fitting(sound_folder(record), clip)
    if data is None:
        raise RecordError(f"{path}: this clip is missing or was changed; it is not the sound that was recorded")
    import soundfile

    samples, rate = soundfile.read(io.BytesIO(data), dtype="int16")
    if rate != SAMPLE_RATE or samples.ndim != 1:
        raise RecordError(f"{path}: is not mono sound at {SAMPLE_RATE} Hz, so no session recorded it")
    kept: Samples = samples
    return kept


class ClipBox:
    """Writes the clips of one record."""

    def __init__(self, record: Path, files: FileLayer = _DISK) -> None:
        self._folder = sound_folder(record)
        self._files = files

    def put(self, samples: Samples) -> dict[str, str | int]:
        """Make a clip durable; what its entry says of it (without `of`). Raises OSError."""
        data = _flac(samples)
        self._files.make_folder(self._folder)
        name = (
            f"{max((int(name[:-5]) for name in _files_in(self._folder) if _NAME.match(name)), default=0) + 1:04}.flac"
        )
        try:
            put_new(self._files, self._folder / name, data)
        except OSError:
            with contextlib.suppress(OSError):
                self._files.remove(self._folder / name)
            raise
        self._files.sync_folder(self._folder)
        ms = samples.size * 1000 // SAMPLE_RATE
        return {"file": name, "sha256": hashlib.sha256(data).hexdigest(), "ms": ms}

    def keep_only(self, clips: Iterable[Clip]) -> None:
        """Destroy every file in the folder but these. Raises OSError."""
        names = {clip.file for clip in clips}
        for name in _files_in(self._folder):
            if name not in names:
                destroy(self._folder / name)
        if not names and self._folder.is_dir():
            destroy(self._folder)


def _flac(samples: Samples) -> bytes:
    import soundfile  # here, since most sessions keep no sound and should begin at once

    out = io.BytesIO()
    soundfile.write(out, samples, SAMPLE_RATE, format="FLAC", subtype="PCM_16")
    return out.getvalue()


def _files_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []


def _fitting(folder: Path, clip: Clip) -> bytes | None:
    """The file, where it is what its entry names."""
    path = folder / clip.file
    try:
        if not _NAME.match(clip.file) or path.is_symlink() or not path.is_file() or path.stat().st_size > LARGEST:
            return None
        data = path.read_bytes()
    except OSError:
        return None
    return data if hashlib.sha256(data).hexdigest() == clip.sha256 else None


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:3]) + (" and more" if len(names) > 3 else "")
