"""Which keys the model accepts at a place in a file."""

import types
from collections.abc import Iterator
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from companion.procedure.model import Procedure


def keys_at(path: tuple[str | int, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Keys that must stand at `path` and keys that may, both in the model's order.

    `path` is one of pydantic's error locations; it names the member of a union by its `kind` or `type`.
    Both are empty where no mapping with fixed keys is expected.
    """
    here: Any = Procedure
    for part in path:
        here = _into(_bare(here), part)
        if here is None:
            return (), ()
    here = _bare(here)
    if not (isinstance(here, type) and issubclass(here, BaseModel)):
        return (), ()
    must = tuple(field.alias or name for name, field in here.model_fields.items() if field.is_required())
    may = tuple(field.alias or name for name, field in here.model_fields.items() if not field.is_required())
    return must, may


def tags_at(path: tuple[str | int, ...]) -> tuple[str, ...]:
    """The values of `kind` or `type` that are accepted at `path`; empty where none is expected."""
    here: Any = Procedure
    for part in path:
        here = _into(_bare(here), part)
    return tuple(str(name) for member in _members(_bare(here)) for name in _names(member))


def _into(here: Any, part: str | int) -> Any:
    if isinstance(here, type) and issubclass(here, BaseModel):
        for name, field in here.model_fields.items():
            if part == (field.alias or name):
                return field.annotation
        return None
    members = list(_members(here))
    if members:
        return next((member for member in members if part in _names(member)), None)
    if get_origin(here) is tuple and isinstance(part, int):
        return get_args(here)[0]
    return None


def _bare(here: Any) -> Any:
    """Without Annotated, and without the None of an optional key."""
    while get_origin(here) is Annotated:
        here = get_args(here)[0]
    if get_origin(here) in (Union, types.UnionType):
        rest = [member for member in get_args(here) if member is not type(None)]
        if len(rest) == 1:
            return _bare(rest[0])
    return here


def _members(here: Any) -> Iterator[type[BaseModel]]:
    if get_origin(here) in (Union, types.UnionType):
        yield from (member for member in get_args(here) if isinstance(member, type) and issubclass(member, BaseModel))


def _names(member: type[BaseModel]) -> tuple[Any, ...]:
    """What tells this member of a union from the others: its `kind` or `type`."""
    for tag in ("kind", "type"):
        field = member.model_fields.get(tag)
        if field is not None and get_origin(field.annotation) is Literal:
            return get_args(field.annotation)
    return ()
