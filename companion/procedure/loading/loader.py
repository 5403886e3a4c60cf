"""A procedure file -> the model, or every fault it has."""

import hashlib
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from types import MappingProxyType

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from companion.errors import ProcedureError
from companion.plainfiles import open_plain
from companion.procedure import proofreading
from companion.procedure.loading import pruning
from companion.procedure.loading.nodes import At, Keyed, Many, Node, Unreadable, compose
from companion.procedure.loading.place import Path, follow, line_of, name_of
from companion.procedure.loading.sentences import sentence
from companion.procedure.loading.settings import Data, Filler
from companion.procedure.model import Procedure

MOST_BYTES = 1024 * 1024
MOST_STEPS = 500
MOST_FAULTS = 200
_QUOTED = re.compile(r"`([^`]*)`")
_NONE: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class Loaded:
    """A procedure with the text it came from; `sha256` is the hex digest of that text's bytes as they lay on disk."""

    procedure: Procedure
    text: str
    sha256: str
    path: str
    settings: Mapping[str, str] = field(default_factory=dict)
    """Local policy's values that it was loaded with, by id."""


def load(path: FilePath, overrides: Mapping[str, str] = _NONE) -> Loaded:
    """The procedure in a file. `overrides` are local policy's values for its settings, by id.

    Raises ProcedureError with every fault as `file:line: what is wrong; what is accepted`.
    """
    try:
        with os.fdopen(open_plain(path, links=True), "rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise ProcedureError([f"{path}: it is not there; accepted: a procedure file (.yaml)"]) from None
    except OSError as error:
        raise ProcedureError([f"{path}: it cannot be read ({error.strerror}); accepted: a readable file"]) from None
    return _loaded(raw, str(path), overrides)


def load_rehearsed(path: FilePath, overrides: Mapping[str, str] = _NONE) -> Loaded:
    """The procedure as it is rehearsed from memory. Raises as `load` does."""
    loaded = load(path, overrides)
    own = {each.id: each.rehearsed for each in loaded.procedure.settings if each.rehearsed is not None}
    return load(path, {**own, **overrides}) if own else loaded


def load_text(text: str, name: str = "procedure", overrides: Mapping[str, str] = _NONE, judged: bool = True) -> Loaded:
    """The same from text already at hand; `name` stands for the file in messages. `judged=False` for that of a record,
    which was judged by the rules of its day: what is asked of a procedure today makes no record unreadable."""
    return _loaded(text.encode("utf-8", "surrogatepass"), name, overrides, judged)


def located(loaded: Loaded, fault: proofreading.Fault) -> str:
    """A fault found after loading, as `file:line: ...` like the others."""
    root, _ = compose(loaded.text)
    assert isinstance(root, Keyed)  # it was loaded
    return _written(loaded.path, [_at(root, fault)])[0]


def _loaded(raw: bytes, name: str, overrides: Mapping[str, str], judged: bool = True) -> Loaded:
    try:
        text = _decoded(raw)
        procedure = _procedure(text, overrides, judged)
    except Unreadable as error:
        raise ProcedureError(_written(name, error.faults)) from None
    return Loaded(procedure, text, hashlib.sha256(raw).hexdigest(), name, dict(overrides))


def _written(name: str, faults: list[At]) -> list[str]:
    """In the order of the file, each once; no more than anyone will read."""
    ordered = sorted({(fault.line, fault.message): None for fault in faults}, key=lambda pair: pair[0])
    lines = [f"{name}:{line}: {_readable(message)}" for line, message in ordered[:MOST_FAULTS]]
    if len(ordered) > MOST_FAULTS:
        lines.append(f"{name}: and {len(ordered) - MOST_FAULTS:,} more faults")
    return lines


def _readable(message: str) -> str:
    """On one line, with culprits too long to show cut short."""
    return _QUOTED.sub(lambda found: f"`{_cut(found[1])}`", " ".join(message.split()))


def _cut(culprit: str) -> str:
    return culprit if len(culprit) <= 64 else culprit[:60] + "..."


def _decoded(raw: bytes) -> str:
    if len(raw) > MOST_BYTES:
        raise Unreadable([At(1, "the file is larger than 1 MiB; accepted: a procedure file of at most 1 MiB")])
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise Unreadable([At(1, "the file is in UTF-16; accepted: UTF-8, so save it as UTF-8")])
    if b"\0" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\0")) + 1
        raise Unreadable([At(line, "the file is binary (it holds a zero byte); accepted: text in UTF-8")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise Unreadable([At(line, "the file is not UTF-8 here; accepted: text in UTF-8")]) from None


def _procedure(text: str, overrides: Mapping[str, str], judged: bool) -> Procedure:
    root, faults = compose(text)
    if not isinstance(root, Keyed):
        raise Unreadable([*faults, At(root.line, "this is not a procedure; accepted: keys such as `format: 1`")])
    steps = sum(_count(node) for node in _step_lists(root))
    if steps > MOST_STEPS:
        message = f"the file has {steps:,} steps; accepted: at most {MOST_STEPS}"
        raise Unreadable([*faults, At(root.key_lines.get("steps", root.line), message)])
    filler = Filler(root, overrides)
    data = filler.data()
    faults.extend(filler.faults)
    try:
        procedure = Procedure.model_validate(data)
    except ValidationError as error:
        broken = {fault.line for fault in faults}
        faults.extend(fault for fault in _shape_faults(root, error, filler) if fault.line not in broken)
        faults.extend(_faults_of_the_rest(root, data, error))
        raise Unreadable(faults) from None
    if judged:
        faults.extend(_at(root, fault) for fault in proofreading.faults(procedure))
    if faults:
        raise Unreadable(faults)
    return procedure


def _step_lists(root: Keyed) -> list[Node | None]:
    branches = root.entries.get("branches")
    inner = [item for item in branches.items if isinstance(item, Keyed)] if isinstance(branches, Many) else []
    return [root.entries.get("steps"), *(branch.entries.get("steps") for branch in inner)]


def _count(node: Node | None) -> int:
    return len(node.items) if isinstance(node, Many) else 0


def _shape_faults(root: Keyed, error: ValidationError, filler: Filler) -> list[At]:
    errors = error.errors(include_url=False)
    found = []
    for one in errors:
        path = _culprit(root, one)
        if path in filler.bad or (
            one["type"] == "too_short" and any(_inside(other["loc"], one["loc"]) for other in errors)
        ):
            continue  # said already: by the setting that is unknown, or by the entry that is refused
        where = name_of(root, path)
        message = sentence(one, str(next((part for part in reversed(path) if isinstance(part, str)), "")))
        found.append(At(line_of(root, path), f"{where}: {message}" if where else message))
    return found


def _culprit(root: Keyed, error: ErrorDetails) -> Path:
    """The path in the file that an error is about, without the names of kinds that the model puts in."""
    walked = follow(root, error["loc"])[1]
    if error["type"] == "union_tag_invalid":
        return (*walked, str(error["ctx"]["discriminator"]).strip("'"))
    if error["type"] == "missing":
        return (*walked, error["loc"][-1])
    return walked


def _inside(path: Path, outer: Path) -> bool:
    return len(path) > len(outer) and path[: len(outer)] == outer


def _faults_of_the_rest(root: Keyed, data: dict[str, Data], error: ValidationError) -> list[At]:
    """What else is wrong, judged by what is left when the misshapen parts are taken out.

    Faults that name a part taken out are not the author's but ours, and are dropped.
    """
    errors = error.errors(include_url=False)
    unknown = [one["loc"] for one in errors if one["type"] == "extra_forbidden"]
    left = pruning.without(data, unknown, [one["loc"] for one in errors if one["type"] != "extra_forbidden"])
    try:
        procedure = Procedure.model_validate(left.data)
    except ValidationError:
        return []
    return [
        _at(root, proofreading.Fault(left.original(fault.path), fault.message))
        for fault in proofreading.faults(procedure)
        if fault.path and not any(f"`{name}`" in fault.message for name in left.gone)
    ]


def _at(root: Keyed, fault: proofreading.Fault) -> At:
    where = name_of(root, fault.path)
    return At(line_of(root, fault.path), f"{where}: {fault.message}" if where else fault.message)
