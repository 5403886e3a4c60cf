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

from companion.decoding import blocks_of
from companion.errors import HearingError, RecordError
from companion.plainfiles import PlainFolder, folder_at
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.record.entry import Entry
from companion.record.files import DiskFiles, FileLayer, destroy_in, put_new

AGREEMENT = "agreement"
"""Body: `state`, one of given, none, withdrawn, ended; when given `voices` (how many are in the room), `tags` and `by`
(voice or key, each); otherwise `why`."""
SOUND = "sound"
"""Body: `of` (number of the reply's entry), `file`, `sha256` of the file, `ms` (its length)."""

LARGEST = 16 * 1024 * 1024
"""Bytes; an utterance is cut after a few seconds, so no clip comes near this."""

CLIP_NAME = re.compile(r"[0-9]{4,9}\.flac\Z", re.ASCII)
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


@dataclass(frozen=True)
class Agreement:
    """What was agreed about sound at one time."""

    state: str
    tags: tuple[str, ...]
    """Who has agreed; empty unless `given`."""
    why: str


def agreements(entries: Iterable[Entry]) -> list[Agreement]:
    """All that were made, in order; the last one stands. None where nobody was asked."""
    found = []
    for body in (entry.body for entry in entries if entry.kind == AGREEMENT):
        state = str(body.get("state"))
        tags = tuple(map(str, body.get("tags", ()))) if state == "given" else ()
        found.append(Agreement(state, tags, str(body.get("why"))))
    return found


def agreed_tags(entries: Iterable[Entry]) -> tuple[str, ...]:
    """Who has agreed, by tag; empty when nobody was asked, somebody refused, or it does not stand any more."""
    return next((each.tags for each in reversed(agreements(entries))), ())


def misfit_of_clips(record: Path, entries: Sequence[Entry], closed: bool) -> str:
    """What does not fit between the clips beside a record and what its entries name, in plain words; empty when
    nothing is wrong. While a record is open, one clip that no entry names yet is what an interruption leaves."""
    wanted = {clip.file: clip for clip in clips_of(entries)}
    try:
        with folder_at(sound_folder(record)) as folder:
            there = folder.names() if folder is not None else []
            changed = [name for name, clip in wanted.items() if name in there and _fitting(folder, clip) is None]
    except OSError as fault:
        return f"{sound_folder(record).name} cannot be read ({fault.strerror})" if wanted or closed else ""
    missing = [name for name in wanted if name not in there]
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
    try:
        with folder_at(sound_folder(record)) as folder:
            data = _fitting(folder, clip)
    except OSError:
        data = None
    if data is None:
        raise RecordError(f"{path}: this clip is missing or was changed; it is not the sound that was recorded")
    import numpy as np
    import soundfile  # here, since most sessions keep no sound and should begin at once

    try:
        with soundfile.SoundFile(io.BytesIO(data)) as sound:
            if sound.samplerate != SAMPLE_RATE or sound.channels != 1:
                raise RecordError(f"{path}: is not mono sound at {SAMPLE_RATE} Hz, so no session recorded it")
            kept: Samples = np.concatenate([np.zeros(0, np.int16), *(each[:, 0] for each in blocks_of(sound, "int16"))])
    except (soundfile.LibsndfileError, HearingError) as fault:
        raise RecordError(f"{path}: is not sound that a session recorded ({fault})") from fault
    return kept


def clip_names(record: Path) -> list[str]:
    """The clips that lie beside a record, by the form of their names. Raises OSError where the folder is none."""
    with folder_at(sound_folder(record)) as folder:
        return [name for name in folder.names() if CLIP_NAME.match(name)] if folder is not None else []


def destroy_clips(record: Path, but: Iterable[str] = ()) -> None:
    """Destroy the clips beside a record, except those named, and the folder where nothing is left in it. Only what has
    the name of a clip goes, and only in a folder of this very place. Raises OSError."""
    kept = set(but)
    with folder_at(sound_folder(record)) as folder:
        if folder is None:
            return
        for name in folder.names():
            if CLIP_NAME.match(name) and name not in kept:
                destroy_in(folder, name)
        empty = not folder.names()
    if empty:
        sound_folder(record).rmdir()


class ClipBox:
    """Writes the clips of one record."""

    def __init__(self, record: Path, files: FileLayer = _DISK) -> None:
        self._record = record
        self._folder = sound_folder(record)
        self._files = files

    def put(self, samples: Samples) -> dict[str, str | int]:
        """Make a clip durable; what its entry says of it (without `of`). Raises OSError."""
        data = _flac(samples)
        last = max((int(name[:-5]) for name in clip_names(self._record)), default=0)
        self._files.make_folder(self._folder)
        name = f"{last + 1:04}.flac"
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
        """Destroy every other clip. Raises OSError."""
        destroy_clips(self._record, [clip.file for clip in clips])


def _flac(samples: Samples) -> bytes:
    import soundfile

    out = io.BytesIO()
    soundfile.write(out, samples, SAMPLE_RATE, format="FLAC", subtype="PCM_16")
    return out.getvalue()


def _fitting(folder: PlainFolder | None, clip: Clip) -> bytes | None:
    """The file, where it is what its entry names."""
    if folder is None or not CLIP_NAME.match(clip.file):
        return None
    try:
        data = folder.read(clip.file, LARGEST)
    except OSError:
        return None
    return data if hashlib.sha256(data).hexdigest() == clip.sha256 else None


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:3]) + (" and more" if len(names) > 3 else "")
