"""Records for the tests: of invented content, with a clock that stands still unless told."""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.clocks import SimulatedClock
from companion.ports.clock import Clock
from companion.record.files import DiskFiles, FileLayer
from companion.record.keys import SigningKey
from companion.record.writer import RecordWriter

TEXT = "format: '1'\nid: hand-rub\ntitle: Hand rub\nsteps:\n- id: rub\n  ask: Rub – for 30 seconds.\n"
OPENING = {"procedure_id": "hand-rub", "procedure_text": TEXT, "mode": "rehearsal"}
FULL_OPENING = {**OPENING, "procedure_text": TEXT * 300}
"""With a procedure as long as a real one (27 kB)."""
START = datetime(2031, 3, 4, 5, 6, 7, 89_000, tzinfo=UTC)


def key(seed: int = 7) -> SigningKey:
    """Always the same key for the same seed (0 to 255)."""
    return SigningKey(Ed25519PrivateKey.from_private_bytes(bytes([seed] * 32)))


def clock() -> SimulatedClock:
    return SimulatedClock(START)


class UnsyncedFiles(DiskFiles):
    """The real disk without waiting for it: for tests that lose no power."""

    def sync(self, fd: int) -> None:
        """Not at all."""

    def sync_folder(self, folder: Path) -> None:
        """Not at all."""


def reply(n: int) -> dict[str, Any]:
    """A body like that of an accepted reply."""
    return {"event": {"kind": "replied", "phrase": f"vial number {n} rolled", "by": "voice", "margin": "12.25"}}


def written(
    where: Path,
    entries: int,
    signer: SigningKey | None = None,
    close: bool = True,
    files: FileLayer | None = None,
    time: Clock | None = None,
    opening: Mapping[str, Any] = OPENING,
) -> RecordWriter:
    """A record at `where` with `entries` entries in all, let go of."""
    now = time or clock()
    writer = RecordWriter.create(where, opening, now, signer or key(), files or UnsyncedFiles())
    for n in range(entries - (2 if close else 1)):
        now.wait_ms(700)
        writer.append("replied", reply(n), writer.elapsed_ms())
    if close:
        writer.finish("signed", writer.elapsed_ms())
    writer.close()
    return writer
