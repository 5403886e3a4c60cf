"""Writing a session record so that what was acknowledged is never lost.

An entry is one whole line, written at once and made durable before `append` returns. A fault in writing is final:
after a failed sync the disk's state is unknown, and trying again would only hide it.
"""

import errno
import io
import re
import secrets
import uuid
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NoReturn, Self

from companion.errors import RecordError
from companion.ports.clock import Clock
from companion.record.chain import Scan, lines_of, scan
from companion.record.entry import CLOSED, FIRST_PREV, OPENED, RECOVERED, Entry, digest, stamp
from companion.record.files import DiskFiles, FileLayer, put_new
from companion.record.first_entry import RECORD_VERSION, check_opening, opening_body
from companion.record.keys import SigningKey, key_id
from companion.record.seal import sealed

_OUTCOME = re.compile(r"[a-z][a-z -]{0,39}\Z")
_DISK = DiskFiles()


class RecordWriter:
    """The one writer of a record (a `ports.sink.RecordSink`). Used from one thread."""

    def __init__(self, path: Path, fd: int, clock: Clock, key: SigningKey, files: FileLayer) -> None:
        """Made by `create` and `reopen`."""
        self.path = path
        self._fd = fd
        self._clock = clock
        self._key = key
        self._files = files
        self._last: Entry | None = None
        self._head = FIRST_PREV
        self._session = ""
        self._zero_ms = clock.now_ms()
        self._fault = ""
        self._released = False

    @classmethod
    def create(
        cls, where: Path, opening: Mapping[str, Any], clock: Clock, key: SigningKey, files: FileLayer = _DISK
    ) -> Self:
        """Begin a record: at `where` when that ends in `.jsonl`, else in the folder `where` under a new name.

        `opening` needs `procedure_id` and `procedure_text` (the procedure file's own text) and may hold anything
        else JSON can; versions, the text's SHA-256 and the key are added. The first entry is durable on return.
        Raises RecordError.
        """
        body = opening_body(opening, key.public)
        path, fd = _new_file(where, str(body["procedure_id"]), clock, files)
        writer = cls(path, fd, clock, key, files)
        try:
            writer._session = str(uuid.uuid4())
            writer._take_lock()
            writer._write(writer._next(OPENED, body, 0))
            files.sync_folder(path.parent)
        except (OSError, RecordError) as fault:
            writer.close()
            _forget(path, files)
            if isinstance(fault, RecordError):
                raise
            raise RecordError(f"{path}: a record cannot be begun here ({fault.strerror})") from fault
        return writer

    @classmethod
    def reopen(cls, path: Path, clock: Clock, key: SigningKey, files: FileLayer = _DISK) -> Self:
        """Go on with a record that was not closed. A last line that was never finished is set aside in a file
        ending in `.torn`, and an entry says so. Raises RecordError when the record is closed, damaged, in use,
        or was begun with another key."""
        try:
            fd = files.open(path)
        except OSError as fault:
            raise RecordError(f"{path}: this record cannot be opened ({fault.strerror})") from fault
        writer = cls(path, fd, clock, key, files)
        try:
            writer._take_lock()
            found = scan(lines_of(io.BytesIO(files.read(fd))))
            writer._go_on_from(found)
            if found.torn:
                writer._set_aside(found)
        except OSError as fault:
            writer.close()
            raise RecordError(f"{path}: this record cannot be continued ({fault.strerror})") from fault
        except RecordError:
            writer.close()
            raise
        return writer

    @property
    def last(self) -> Entry:
        """The last durable entry."""
        if self._last is None:
            raise RecordError(f"{self.path}: the record has no entry yet")
        return self._last

    def elapsed_ms(self) -> int:
        """The session time now. After `reopen` it goes on from the last entry, plus the time the wall clock says
        has passed since (none, if that has jumped back)."""
        return self._clock.now_ms() - self._zero_ms

    def append(self, kind: str, body: Mapping[str, Any], at_ms: int) -> None:
        """Write one entry; durable on return. Raises RecordError: before writing when `body` holds what a record
        cannot, and for good when the disk fails."""
        if kind in (OPENED, CLOSED):
            raise RecordError(f"{self.path}: an entry of kind {kind!r} is written by the record itself")
        self._write(self._next(kind, body, at_ms))

    def finish(self, outcome: str, at_ms: int) -> str:
        """Close the record: count, outcome and the signature of the head. Returns the receipt code, once the file of
        that name has been read again and is whole. Raises RecordError, also where somebody else has changed it or put
        something in its place.

        `outcome` is one or few plain words such as `signed` or `abandoned`: it outlives a purge, so reasons
        belong in an entry of their own.
        """
        if not _OUTCOME.match(outcome):
            raise RecordError(f"outcome {outcome!r}: up to 40 lower-case letters, spaces and hyphens are accepted")
        closing = sealed(self._next(CLOSED, {"count": self.last.n + 2, "outcome": outcome}, at_ms), self._key)
        self._write(closing)
        self._check_whole()
        return str(closing.body["receipt"])

    def close(self) -> None:
        """Let go of the file. A record that was not finished stays open and can be continued."""
        if not self._released:
            self._released = True
            self._files.close(self._fd)

    def _next(self, kind: str, body: Mapping[str, Any], at_ms: int) -> Entry:
        last = self._last
        if last is not None and last.kind == CLOSED:
            raise RecordError(f"{self.path}: the record is closed; nothing can be added")
        return Entry(
            n=0 if last is None else last.n + 1,
            prev=self._head,
            session=self._session,
            utc=stamp(self._clock.utc()),
            mono_ms=self._clock.now_ms(),
            at_ms=at_ms,
            kind=kind,
            body=body,
        )

    def _write(self, entry: Entry) -> None:
        line = entry.line()
        if self._released:
            raise RecordError(f"{self.path}: the record was let go; nothing can be added")
        if self._fault:
            raise RecordError(f"{self.path}: {self._fault}; nothing more is written to it")
        self._fault = "an earlier write was interrupted"  # stays so unless everything below is done
        try:
            taken = self._files.write(self._fd, line + b"\n")
        except OSError as fault:
            self._die(f"the disk refused an entry ({fault.strerror})", fault)
        if taken != len(line) + 1:
            self._die("the disk took only a part of an entry (is it full?)", None)
        try:
            self._files.sync(self._fd)
        except OSError as fault:
            self._die(f"an entry could not be made durable ({fault.strerror})", fault)
        self._last, self._head = entry, digest(line)
        self._fault = ""

    def _die(self, what: str, cause: OSError | None) -> NoReturn:
        self._fault = what
        count = 0 if self._last is None else self._last.n + 1
        raise RecordError(f"{self.path}: {what}; the session stops here, its {count} entries are safe") from cause

    def _check_whole(self) -> None:
        """A file can be deleted, cut or replaced by another program while it is written; nobody is to be told of a
        receipt for what is not there."""
        try:
            data = self._files.read(self._fd)
            found = scan(lines_of(io.BytesIO(data)))
            if found.fault_line or found.torn or found.head != self._head:
                where = f"line {found.fault_line}: {found.fault}" if found.fault_line else "its end is another"
                raise RecordError(f"{self.path}: was changed by another program while the session ran ({where})")
            if not self._files.stands_at(self._fd, self.path):
                kept = self.path.with_name(f"{self.path.stem}-{secrets.token_hex(2)}.jsonl")
                put_new(self._files, kept, data)
                self._files.sync_folder(kept.parent)
                raise RecordError(
                    f"{self.path}: was taken away or replaced while the session ran; the whole record is now {kept}"
                )
        except OSError as fault:
            raise RecordError(f"{self.path}: cannot be read again ({fault.strerror}); no receipt is given") from fault

    def _take_lock(self) -> None:
        if not self._files.lock(self._fd):
            raise RecordError(f"{self.path}: another program is writing this record; end that one first")

    def _go_on_from(self, found: Scan) -> None:
        if found.fault_line:
            raise RecordError(
                f"{self.path}: line {found.fault_line} is damaged or was changed ({found.fault}); "
                "only an undamaged record can be continued"
            )
        if found.stone is not None:
            raise RecordError(f"{self.path}: was purged; there is nothing left to go on with")
        if not found.entries:
            raise RecordError(f"{self.path}: holds no complete entry, so no session began; start a new one")
        if found.closed:
            raise RecordError(f"{self.path}: this record is closed; only an open one can be continued")
        opening = found.entries[0]
        check_opening(self.path, opening)
        if opening.body["record_version"] != RECORD_VERSION:
            raise RecordError(f"{self.path}: begun by an older version; it can be read, not continued")
        check_ours(self.path, opening.body, self._key)
        self._last = found.entries[-1]
        self._head = found.head
        self._session = opening.session
        gap_ms = int((self._clock.utc() - self._last.when()).total_seconds() * 1000)
        self._zero_ms = self._clock.now_ms() - self._last.at_ms - max(0, gap_ms)

    def _set_aside(self, found: Scan) -> None:
        side = _aside(self.path, found.torn, self._files)
        self._files.truncate(self._fd, found.size)
        self._files.sync(self._fd)
        body = {"bytes": len(found.torn), "sha256": digest(found.torn), "file": side.name}
        self._write(self._next(RECOVERED, body, self.last.at_ms))


def check_ours(path: Path, opening: Mapping[str, Any], key: SigningKey) -> None:
    """Raises RecordError for a record that was begun with another key than `key`."""
    if opening["public_key"] != key.public:
        raise RecordError(
            f"{path}: begun with the key {opening['key_id']}; this machine's key is {key_id(key.public)} and cannot "
            "sign it"
        )


def _new_file(where: Path, procedure_id: str, clock: Clock, files: FileLayer) -> tuple[Path, int]:
    named = where.suffix == ".jsonl"
    folder = where.parent if named else where
    try:
        files.make_folder(folder)
        for _ in range(20):
            begun = clock.utc().strftime("%Y%m%dT%H%M%SZ")
            path = where if named else folder / f"{begun}-{procedure_id}-{secrets.token_hex(2)}.jsonl"
            try:
                return path, files.create(path)
            except FileExistsError:
                if named:
                    raise
        raise FileExistsError(errno.EEXIST, "every name tried is taken")
    except OSError as fault:
        what = where if named else folder
        raise RecordError(f"{what}: a record cannot be begun here ({fault.strerror})") from fault


def _aside(path: Path, torn: bytes, files: FileLayer) -> Path:
    """Keep the unfinished bytes durably in a file of their own, before they are cut off."""
    for number in range(1, 1000):
        side = path.with_name(f"{path.name}.{number}.torn")
        try:
            put_new(files, side, torn)
        except FileExistsError:
            continue
        files.sync_folder(path.parent)
        return side
    raise RecordError(f"{path}: has been recovered too often; copy what is needed and start a new record")


def _forget(path: Path, files: FileLayer) -> None:
    """Take away a record whose first entry never became durable: nobody was told of it."""
    try:
        files.remove(path)
    except OSError:
        return
