"""Bringing the base up to date with the folder: only records that are new or changed are read.

What is read here is not verified: hashing every line of two thousand records takes many times as long as counting
them. A session is verified when it is opened, and marks are verified here, since they are few.
"""

import hashlib
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from companion import places
from companion.errors import CompanionError, RecordError
from companion.plainfiles import is_plain
from companion.record.chain import LONGEST_LINE
from companion.record.reader import read_record
from companion.record.trusted import known_keys
from companion.review.cohort.base import PER_FILE, PER_MARKS, Base
from companion.review.cohort.verdicts import judge_rehearsals
from companion.review.marks import ItemMark
from companion.review.marks_file import marks_beside, read_marks
from companion.review.timeline import loaded_of, timeline
from companion.review.told import GUIDED, REHEARSED

_BATCH = 24 * 1024 * 1024
"""Bytes of records that are read at once; it bounds the memory."""

_SHORT = 300
"""Characters of any text that are kept; nothing that a session writes comes near it."""

_BODY = """STRUCT(
  event STRUCT(kind VARCHAR, phrase VARCHAR, "by" VARCHAR, engine VARCHAR, why VARCHAR, nearest VARCHAR,
    performer VARCHAR, mode VARCHAR),
  done STRUCT(step VARCHAR, note VARCHAR)[], undone VARCHAR[], status VARCHAR, step VARCHAR,
  procedure_id VARCHAR, procedure_sha256 VARCHAR, public_key VARCHAR, mode VARCHAR, rehearsal VARCHAR,
  performer VARCHAR, took_ms BIGINT, expected VARCHAR[],
  marks STRUCT(step VARCHAR, at_ms BIGINT)[],
  findings STRUCT(kind VARCHAR, step VARCHAR, title VARCHAR, critical BOOLEAN, reason VARCHAR, needed VARCHAR)[])"""

_READ = f"""CREATE OR REPLACE TEMP TABLE raw AS
SELECT parse_filename(filename) AS file, n, session, utc, at_ms, kind, body,
  lag(body.step) OVER (PARTITION BY filename ORDER BY n) AS up
FROM read_json(?, format = 'newline_delimited', filename = true, ignore_errors = true,
  maximum_object_size = {LONGEST_LINE}, columns = {{n: 'BIGINT', session: 'VARCHAR', utc: 'VARCHAR', at_ms: 'BIGINT',
  kind: 'VARCHAR', body: '{" ".join(_BODY.split())}'}})
WHERE n IS NOT NULL AND kind IS NOT NULL"""

_FILL = f"""
INSERT INTO sessions SELECT file, any_value(left(session, {_SHORT})), min(utc),
  any_value(left(body.procedure_id, {_SHORT})) FILTER (kind = 'opened'),
  any_value(left(body.procedure_sha256, 64)) FILTER (kind = 'opened'),
  coalesce(any_value(body.event.mode) FILTER (body.event.kind = 'started'),
    any_value(body.mode) FILTER (kind = 'opened'), 'rehearsal'),
  coalesce(left(arg_max(body.performer, n) FILTER (body.performer <> ''), {_SHORT}),
    left(any_value(body.event.performer) FILTER (body.event.kind = 'started'), {_SHORT}), ''),
  CASE WHEN bool_or(kind = 'opened' AND body.rehearsal IS NOT NULL) THEN '{REHEARSED}' ELSE '{GUIDED}' END,
  CASE WHEN arg_max(body.status, n) FILTER (kind = 'event') IN ('finished', 'abandoned')
    THEN arg_max(body.status, n) FILTER (kind = 'event') ELSE 'open' END,
  coalesce(arg_max(body.took_ms, n) FILTER (kind = 'judged'),
    max(at_ms) FILTER (kind IN ('event', 'utterance', 'hint'))), count(*), bool_or(kind = 'closed'),
  bool_or(kind = 'opened' AND body.rehearsal IS NOT NULL) OR bool_or(len(body.done) > 0)
    OR NOT bool_or(body.event.kind = 'replied')
FROM raw GROUP BY file;
INSERT INTO done SELECT file, step, note, at_ms,
  at_ms - coalesce(lag(at_ms) OVER (PARTITION BY file ORDER BY n), 0)
FROM (SELECT file, n, at_ms, left(unnest(body.done).step, {_SHORT}) AS step,
    left(unnest(body.done).note, {_SHORT}) AS note FROM raw WHERE kind = 'event') AS given
WHERE NOT EXISTS (SELECT 1 FROM raw AS later WHERE later.file = given.file AND later.n > given.n
  AND list_contains(later.body.undone, given.step));
INSERT INTO done SELECT file, step, '', at_ms, at_ms - coalesce(lag(at_ms) OVER (PARTITION BY file ORDER BY at_ms), 0)
FROM (SELECT file, left(unnest(body.marks).step, {_SHORT}) AS step, unnest(body.marks).at_ms AS at_ms
  FROM raw AS one WHERE kind = 'judged' AND n = (SELECT max(n) FROM raw WHERE kind = 'judged' AND file = one.file))
WHERE file NOT IN (SELECT file FROM done);
INSERT INTO again SELECT file, left(unnest(body.undone), {_SHORT}) FROM raw WHERE kind = 'event';
INSERT INTO due SELECT DISTINCT file, left(body.step, {_SHORT}) FROM raw WHERE kind = 'event' AND body.step <> ''
  AND file NOT IN (SELECT file FROM raw WHERE kind = 'judged');
INSERT INTO due SELECT DISTINCT file, left(unnest(body.expected), {_SHORT}) FROM raw WHERE kind = 'judged';
INSERT INTO missed SELECT file, left(coalesce(up, ''), {_SHORT}), left(body.event.nearest, {_SHORT}),
  left(body.event.engine, {_SHORT}) FROM raw WHERE body.event.kind = 'missed' AND body.event.why = 'unclear';
INSERT INTO replied SELECT file, left(coalesce(up, ''), {_SHORT}), left(body.event.phrase, {_SHORT}),
  coalesce(left(body.event."by", {_SHORT}), 'voice') FROM raw WHERE body.event.kind = 'replied';
INSERT INTO findings SELECT file, f.kind, left(f.step, {_SHORT}), left(f.title, {_SHORT}), f.critical,
  left(f.reason, {_SHORT}), left(f.needed, {_SHORT})
FROM (SELECT file, unnest(body.findings) AS f FROM raw AS one
  WHERE kind = 'judged' AND n = (SELECT max(n) FROM raw WHERE kind = 'judged' AND file = one.file));
"""


_Marking = tuple[str, str, bool, int | None, float | None, str]
"""Marker, when, whether the key is known, rating, score, fault."""

_MarksRow = tuple[str, str, str, bool, int | None, float | None, str]


@dataclass(frozen=True)
class Taken:
    """What an intake did."""

    read: int
    """Records read; the others had not changed."""
    gone: int
    faults: tuple[str, ...]
    """A sentence for each record that cannot be counted."""


def take_in(base: Base, progress: Callable[[int, int], None] = lambda _, __: None) -> Taken:
    """Read what is new or changed. `progress` is told the bytes read so far and in all."""
    keys = known_keys(places.keys())
    there, sides, refused = _listed(base.folder, keys)
    known = dict(base.rows("SELECT file, stamp FROM files"))
    gone = [name for name in known if name not in there]
    new = [name for name, (stamp, _) in there.items() if known.get(name) != stamp]
    with base.whole():
        _drop(base, [*gone, *(name for name in new if name in known)])
    total, done = sum(there[name][1] for name in new), 0
    for batch in _batches([(name, there[name][1]) for name in new]):
        _read(base, batch, there, keys)
        done += sum(there[name][1] for name in batch)
        progress(done, total)
    with base.whole():
        _fold_untold(base)
        _learn_procedures(base)
        marked = _marks(base, sides, set(gone) | set(new), keys)
        judge_rehearsals(base, {*new, *marked})
    faults = base.rows("SELECT file, fault FROM files WHERE fault <> '' ORDER BY file")
    faults += base.rows(
        "SELECT concat(file, '.marks-', marker), concat(fault, ', so it is not counted') FROM marks "
        "WHERE fault <> '' AND marker <> '' ORDER BY file, marker"
    )
    told = [f"{base.folder / name}: {fault}" for name, fault in faults]
    return Taken(len(new), len(gone), (*told, *(f"{base.folder}/{name}: {fault}" for name, fault in refused)))


def _listed(
    folder: Path, keys: Collection[str]
) -> tuple[dict[str, tuple[str, int]], dict[str, str], list[tuple[str, str]]]:
    """The records in a folder with their stamps and sizes, the files of marks with their stamps, and what bears such a
    name and is none, with the reason. A stamp changes with the file, and with the keys that are known."""
    records: dict[str, tuple[str, int]] = {}
    sides: dict[str, str] = {}
    refused: list[tuple[str, str]] = []
    trusted = hashlib.sha256("".join(sorted(keys)).encode("ascii")).hexdigest()[:8]
    try:
        for path in sorted(folder.iterdir()):
            name = path.name
            if not name.endswith(".jsonl") and ".jsonl.marks-" not in name:
                continue
            found = path.lstat()
            stamp = f"{found.st_size}/{found.st_mtime_ns}/{found.st_ino}/{trusted}"
            shown = name.encode("utf-8", "backslashreplace").decode("utf-8")
            if not is_plain(path):
                if path.is_symlink() or not path.is_dir():
                    refused.append((shown, "it is a link or a device, not a file, so it is not counted"))
            elif shown != name:
                refused.append((shown, "its name is not UTF-8; rename it to have it counted"))
            elif name.endswith(".jsonl"):
                records[name] = stamp, found.st_size
            else:
                sides[name] = stamp
    except OSError as fault:
        raise RecordError(f"{folder}: this folder cannot be listed ({fault.strerror})") from fault
    return records, sides, refused


def _batches(sized: Sequence[tuple[str, int]]) -> Iterator[list[str]]:
    batch: list[str] = []
    size = 0
    for name, more in sized:
        if batch and size + more > _BATCH:
            yield batch
            batch, size = [], 0
        batch.append(name)
        size += more
    if batch:
        yield batch


def _drop(base: Base, names: Sequence[str]) -> None:
    for table in ("files", *PER_FILE):
        base.run(f"DELETE FROM {table} WHERE list_contains(?, file)", [list(names)])


def _read(base: Base, names: Sequence[str], there: Mapping[str, tuple[str, int]], keys: Collection[str]) -> None:
    """Read some records and note what is wrong with each that cannot be counted."""
    import duckdb

    faults = {name: "its name holds one of * ? [ ] { }; rename it to have it counted" for name in names if _odd(name)}
    plain = [name for name in names if name not in faults]
    try:
        with base.whole():
            if plain:
                base.run(_READ, [[str(base.folder / name) for name in plain]])
                faults |= _fill(base, plain, keys)
            base.fill("files", [(name, there[name][0], faults.get(name, "")) for name in names])
    except duckdb.Error:
        if len(plain) > 1:  # one of them: find out which
            for name in names:
                _read(base, [name], there, keys)
            return
        why = "it cannot be read line by line as JSON, or its figures are none, so it is not counted"
        base.fill("files", [(name, there[name][0], faults.get(name, why)) for name in names])


def _fill(base: Base, names: Sequence[str], keys: Collection[str]) -> dict[str, str]:
    """Count what was read; a fault for each file that does not begin as a record does, or that a stranger made."""
    told = "SELECT DISTINCT file FROM raw WHERE (kind = 'opened' OR kind = 'purged') AND n >= 0"
    opened = {name for (name,) in base.rows(told)}
    lost = [name for name in names if name not in opened]
    whose = "SELECT DISTINCT file, body.public_key FROM raw WHERE kind = 'opened'"
    strange = [name for name, public in base.rows(whose) if public not in keys]
    base.run("DELETE FROM raw WHERE list_contains(?, file) OR kind = 'purged'", [lost + strange])
    base.run(_FILL)
    unknown = "made with a key that is not known here, so it is not counted; see: companion record trust"
    return {**dict.fromkeys(strange, unknown), **dict.fromkeys(lost, "it holds no opening entry, so it is not counted")}


def _odd(name: str) -> bool:
    """Whether the name would be taken for a pattern."""
    return any(char in name for char in "*?[]{}")


def _fold_untold(base: Base) -> None:
    """Records of before entries told what they decided: folded one by one, which takes its time."""
    for (name,) in base.rows("SELECT file FROM sessions WHERE NOT told"):
        try:
            told = timeline(read_record(base.folder / name))
        except CompanionError as fault:
            base.run("UPDATE files SET fault = ? WHERE file = ?", [str(fault)[:_SHORT], name])
            continue
        base.fill("done", [(name, each.step, each.note, each.at_ms, each.took_ms) for each in told.confirmed])
        base.run("UPDATE sessions SET told = true WHERE file = ?", [name])


def _learn_procedures(base: Base) -> None:
    """Titles and order of the steps, from one record of each version of a procedure."""
    for sha256, name in base.rows(
        "SELECT sha256, min(file) FROM sessions WHERE sha256 NOT IN (SELECT sha256 FROM procedures) GROUP BY sha256"
    ):
        try:
            loaded = loaded_of(read_record(base.folder / name))
        except CompanionError as fault:
            base.run("UPDATE files SET fault = ? WHERE file = ?", [str(fault)[:_SHORT], name])
            continue
        found = loaded.procedure
        base.run("INSERT INTO procedures VALUES (?, ?, ?)", [sha256, found.id, found.title])
        lists = [("", found.steps), *((branch.id, branch.steps) for branch in found.branches)]
        every = [(step, branch) for branch, steps in lists for step in steps]
        base.fill(
            "steps", [(sha256, step.id, n, step.title, step.critical, branch) for n, (step, branch) in enumerate(every)]
        )


def _marks(base: Base, sides: dict[str, str], changed: set[str], keys: Collection[str]) -> set[str]:
    """Marks beside the records, verified; those of a record that changed are verified again. Names those records."""
    known = dict(base.rows("SELECT side, stamp FROM sides"))
    records = {name.rpartition(".marks-")[0] for name in sides if sides[name] != known.get(name)}
    records |= {name.rpartition(".marks-")[0] for name in known if name not in sides}
    records |= {name for name in changed if any(side.startswith(f"{name}.marks-") for side in (*sides, *known))}
    if not records:
        return set()
    there = {name for (name,) in base.rows("SELECT file FROM sessions")}
    marks: list[_MarksRow] = []
    items: list[tuple[str, str, str, str | None, str]] = []
    for name in sorted(records & there):
        for saved in _marks_of(base.folder / name, keys):
            marks.append((name, *saved[0]))
            items += [(name, str(saved[0][0]), item.step, item.mark, item.decision or "") for item in saved[1]]
    for table in PER_MARKS:
        base.run(f"DELETE FROM {table} WHERE list_contains(?, file)", [list(records)])
    base.run("DELETE FROM sides WHERE list_contains(?, regexp_replace(side, '\\.marks-[^.]*$', ''))", [list(records)])
    base.fill("marks", marks)
    base.fill("items", items)
    base.fill("sides", [(side, stamp) for side, stamp in sides.items() if side.rpartition(".marks-")[0] in records])
    return records


def _marks_of(path: Path, keys: Collection[str]) -> Iterator[tuple[_Marking, tuple[ItemMark, ...]]]:
    """The markings beside one record, both verified, with the marks of its steps; one with a fault has none."""
    try:
        record = read_record(path)
    except CompanionError as fault:
        yield ("", "", False, None, None, str(fault)[:_SHORT]), ()
        return
    for marker in marks_beside(record.path):
        try:
            saved = read_marks(record, marker, keys)
        except CompanionError as fault:
            yield (marker, "", False, None, None, str(fault)[:_SHORT]), ()
            continue
        if saved is not None and not saved.known:
            yield (marker, saved.utc, False, None, None, f"signed with the unknown key {saved.signer}"), ()
        elif saved is not None:
            yield (marker, saved.utc, True, saved.marks.rating, saved.marks.score, ""), saved.marks.items
