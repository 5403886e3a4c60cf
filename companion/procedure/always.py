"""What must hold in every session of a procedure, as its file states it; `companion check` proves it."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from companion.procedure.step_parts import Slug, Text
from companion.speech.values import Frozen

_SLUG_SCHEMA = {"type": "string", "pattern": "^[a-z][a-z0-9]*(-[a-z0-9]+)*$", "maxLength": 60}

Deed = Annotated[
    tuple[Slug, ...],
    BeforeValidator(lambda given: [given] if isinstance(given, str) else given),
    Field(min_length=1),
    WithJsonSchema({"anyOf": [_SLUG_SCHEMA, {"type": "array", "minItems": 1, "items": _SLUG_SCHEMA}]}),
]
"""A step, or a list of steps any of which will do, as when a branch does it in a step of its own."""

Deeds = Annotated[tuple[Deed, ...], Field(min_length=1)]


class NeverWithout(Frozen):
    """`step` is never confirmed unless each of `needs` stands confirmed."""

    kind: Literal["never without"]
    step: Deed
    needs: Deeds
    because: Text


class NeverEndsWithout(Frozen):
    """Once `after` was confirmed, the session never ends before each of `needs` was confirmed after it.

    A step that its performer takes back does not count. One that a branch leads back before does, however often it is
    done again: what went into a body stays there.
    """

    kind: Literal["never ends without"]
    after: Deed
    needs: Deeds
    because: Text


class NeverLeftWithout(Frozen):
    """`branch` is never left, forward, back or to the end, before each of `needs` was confirmed in it."""

    kind: Literal["never left without"]
    branch: Slug
    needs: Deeds
    because: Text


class AlwaysOpen(Frozen):
    """`branch` can be entered by a word at every moment from the first step to the end."""

    kind: Literal["always open"]
    branch: Slug
    because: Text


Rule = Annotated[NeverWithout | NeverEndsWithout | NeverLeftWithout | AlwaysOpen, Field(discriminator="kind")]
"""What must hold in every session; `companion check` proves it. Ending it by one's own word is nobody's fault but
one's own, and no rule speaks of it."""
