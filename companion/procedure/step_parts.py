"""The smaller parts of a step: names and texts, conditions, alerts, and what leads into a branch."""

from decimal import Decimal
from typing import Annotated

from pydantic import BeforeValidator, Field, StringConstraints, WithJsonSchema, model_validator

from companion.dose.dates import oldest_opening
from companion.speech.durations import parse_seconds
from companion.speech.values import Frozen, Number

Slug = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=60)]
"""A name in a file: lower-case words joined by hyphens, such as `draw-up`."""

Phrase = Annotated[
    str,
    StringConstraints(pattern=r"^[^\W\d_A-Z]+(['’]?[^\W\d_A-Z]+)*( [^\W\d_A-Z]+(['’]?[^\W\d_A-Z]+)*){0,7}$"),
]
"""Something said whole: one to eight lower-case words without figures or punctuation."""

Text = Annotated[str, StringConstraints(min_length=1, max_length=200)]
"""Something spoken and shown; 200 characters fit the screen at two metres."""

Long = Annotated[str, StringConstraints(min_length=1, max_length=1000)]
Seconds = Annotated[
    int,
    BeforeValidator(parse_seconds),
    Field(ge=1, le=7200),
    WithJsonSchema({"type": "string", "pattern": "^[0-9]{1,4} (s|min)$"}),
]
"""A duration written `20 s` or `2 min`, kept as whole seconds."""


class When(Frozen):
    """A step is due only while setting or step `of` has one of the values `is`, or a figure `below` or `above`."""

    of: Slug
    below: Number | None = None
    above: Number | None = None
    is_: tuple[str, ...] = Field(default=(), alias="is")


class After(Frozen):
    """`step` must have come first, and why."""

    step: Slug
    because: Text


class Alert(Frozen):
    """A value that sends the session into a branch: below or above a limit, or one of the choices.

    For dates the limits are whole days from the day of the session. With `beside` they are counted from the figure of
    that step: `above: 2` is more than 2 over it, `below: -2` more than 2 under it; a choice differs from that step's.
    `percent` of that figure is the limit where it is more, so that a large figure may be further off.
    `kept` is for a day of opening: what keeps 28 days once opened is discarded on the 28th day after.
    With `once` the same value, given again after the branch has come back, stands as confirmed.
    """

    branch: Slug
    once: bool = False
    below: Number | None = None
    above: Number | None = None
    beside: Slug | None = None
    percent: Number | None = None
    kept: int | None = Field(default=None, ge=1, le=1000)
    is_: tuple[str, ...] = Field(default=(), alias="is")

    @model_validator(mode="before")
    @classmethod
    def _limited(cls, data: object) -> object:
        """What keeps so many days sets the limit `below`."""
        if not isinstance(data, dict) or not str(data.get("kept", "")).isdecimal():
            return data
        if "below" in data:
            raise ValueError("`kept` stands beside `below`; accepted: one of the two")
        return data | {"below": Decimal(oldest_opening(int(data["kept"])))}


class Item(Frozen):
    """One thing checked apart, said as agreeing or not."""

    id: Slug
    say: Text
    agrees: tuple[Phrase, ...] = Field(min_length=1)
    differs: tuple[Phrase, ...] = Field(min_length=1)


class Abnormal(Frozen):
    """Answers to an observation that take a branch."""

    branch: Slug
    replies: tuple[Phrase, ...] = Field(min_length=1)


class Settled(Frozen):
    """Answers to an observation that hold only once one of `branches` was taken there and has come back."""

    branches: tuple[Slug, ...] = Field(min_length=1)
    replies: tuple[Phrase, ...] = Field(min_length=1)


class Every(Frozen):
    """Each time `time` has gone by without an answer `say` is said; after `most` rounds the branch `then` is taken."""

    time: Seconds
    say: Text
    most: int | None = Field(default=None, ge=1, le=100)
    then: Slug | None = None


class Unless(Frozen):
    """A value that speaks against a normal answer: while that of step `of` lies `below` or `above`, or is one of the
    choices `is`, the answer takes `branch` instead, until the branch has come back.

    `replies` limits it to some of the answers; `because` is said instead of the value.
    """

    branch: Slug
    of: Slug
    replies: tuple[Phrase, ...] = ()
    because: Text | None = None
    below: Number | None = None
    above: Number | None = None
    is_: tuple[str, ...] = Field(default=(), alias="is")
