"""What entries say, held against what a session writes: whoever reads on may rely on its types.

The chain proves only that somebody wrote a record, and anybody can write and sign one.
"""

import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from companion.errors import CompanionError, RecordError
from companion.record.entry import OPENED, Entry
from companion.session.events import AnyEvent
from companion.session.findings import JUDGED, Judgement

_SHOWN = 200


class _Said(BaseModel):
    """Base of the bodies: what is not named here may be there and is not looked at."""

    model_config = ConfigDict(extra="ignore", strict=True)


class _Opened(_Said):
    procedure_id: str
    settings: dict[str, str] | None = None
    mode: Literal["rehearsal", "bedside"] = "rehearsal"
    program_version: str = ""
    scenario: str = ""
    rehearsal: str = ""


class _Event(_Said):
    event: AnyEvent


class _Agreement(_Said):
    state: Literal["given", "none", "withdrawn", "ended"]
    tags: list[str] = []
    why: str = ""


_BODIES: Mapping[str, type[BaseModel]] = {
    OPENED: _Opened,
    "event": _Event,
    "agreement": _Agreement,
    JUDGED: Judgement,
}


def misfit_of_content(entry: Entry) -> str:
    """What in an entry is not what a session writes, with the field it stands in; empty when nothing is. Entries of a
    kind that is not known here say nothing that is relied on."""
    if entry.kind == OPENED:
        try:
            uuid.UUID(entry.session)
        except ValueError:
            return "session: is no UUID"
    model = _BODIES.get(entry.kind)
    if model is None:
        return ""
    try:
        model.model_validate(dict(entry.body))
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_context=False, include_input=False)[0]
        return f"{'.'.join(map(str, ('body', *first['loc'])))}: {first['msg']}"[:_SHOWN]
    except Exception as fault:  # a value so odd that looking at it fails: too deep, too large
        return f"body: {type(fault).__name__}"
    return ""


@contextmanager
def believing(where: str) -> Iterator[None]:
    """For reading on in what a record says, which may be anything that somebody has made up: whatever goes wrong in
    the block is said of the record, `where` naming it and what was made of it. Raises RecordError."""
    try:
        yield
    except (CompanionError, OSError):
        raise
    except Exception as fault:
        said = " ".join(str(fault).split())[:_SHOWN] or "no more is known"
        raise RecordError(f"{where}: what it says cannot have happened ({type(fault).__name__}: {said})") from fault
