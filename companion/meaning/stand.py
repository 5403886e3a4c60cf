"""A test stand for what is understood: a question, what was said to it and what is true, as one JSON object."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic import Field, TypeAdapter, ValidationError, model_validator

from companion.errors import UsageError
from companion.meaning.question import Question
from companion.meaning.understood import (
    Item,
    MeaningReader,
    understand,
    understand_items,
    understand_value,
)
from companion.speech.values import ChoiceValue, Frozen, NumberValue

ACCEPTED = (
    'accepted: {"prompt": text, "critical": true or false, one of "meanings": {name: {"phrases": [...]}}, '
    '"value": {"type": "number", "unit": ..., "least": ..., "most": ...} or {"type": "choice", "choices": [...]}, '
    '"items": [{"about": text, "agrees": [...], "differs": [...]}], then "said": words or "audio": path, and "truth"}'
)

Truth = str | list[str | None] | None


class Phrases(Frozen):
    """What says a meaning whole."""

    phrases: tuple[str, ...] = ()


class AskedItem(Frozen):
    """One of several things asked at once."""

    about: str = ""
    agrees: tuple[str, ...]
    differs: tuple[str, ...]


class Line(Frozen):
    """One line of a file for `companion hear`."""

    prompt: str = Field(min_length=1, max_length=1000)
    critical: bool = False
    meanings: Mapping[str, Phrases] = Field(default={}, max_length=60)
    value: NumberValue | ChoiceValue | None = Field(default=None, discriminator="type")
    items: tuple[AskedItem, ...] = Field(default=(), max_length=20)
    said: str | None = Field(default=None, max_length=1000)
    audio: str | None = None
    truth: Truth = None

    @model_validator(mode="after")
    def _whole(self) -> "Line":
        if [bool(self.meanings), self.value is not None, bool(self.items)].count(True) != 1:
            raise ValueError("one of `meanings`, `value` and `items` is needed, and no more")
        if (self.said is None) == (self.audio is None):
            raise ValueError("either `said` or `audio` is needed")
        if isinstance(self.truth, list) != bool(self.items) and self.truth is not None:
            raise ValueError("`truth` is a list for `items`, and a text or null for everything else")
        if isinstance(self.truth, list) and len(self.truth) != len(self.items):
            raise ValueError("`truth` tells one of each item")
        if self.meanings and self.truth is not None and self.truth not in self.meanings:
            raise ValueError(f"the truth `{self.truth}` is none of the meanings")
        return self

    def phrases(self) -> tuple[str, ...]:
        """What may be said word for word."""
        lists = [each.phrases for each in self.meanings.values()]
        lists += [(*item.agrees, *item.differs) for item in self.items]
        return tuple(dict.fromkeys(phrase for phrases in lists for phrase in phrases))


@dataclass(frozen=True)
class Answer:
    """What was understood: for items a list, one of each."""

    understood: Truth
    how: str | list[str | None] | None
    nearest: Truth
    margin: float | list[float]


_LINE: TypeAdapter[Line] = TypeAdapter(Line)


def line_of(entry: Mapping[str, Any], where: str) -> Line:
    """Raises UsageError, one sentence naming what is wrong and what is accepted."""
    try:
        return _LINE.validate_python(entry)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        why = first["msg"].removeprefix("Value error, ")
        raise UsageError(f"{where}: {f'`{place}`: ' if place else ''}{why}; {ACCEPTED}") from None


def answered(line: Line, said: str, reader: MeaningReader | None, today: date) -> Answer:
    """What `said` amounts to as a reply to the line's question."""
    if line.items:
        items = [Item(item.about, item.agrees, item.differs) for item in line.items]
        found = understand_items(line.prompt, items, said, reader, critical=line.critical)
        return Answer(
            [each.meaning for each in found],
            [each.how for each in found],
            [each.nearest for each in found],
            [each.margin for each in found],
        )
    if line.value is not None:
        value = understand_value(line.prompt, line.value, said, reader, today)
        taken, nearest = (None if each is None else each.written() for each in (value.value, value.nearest))
        return Answer(taken, value.how, nearest, value.margin)
    meanings = {name: each.phrases for name, each in line.meanings.items()}
    meant = understand(Question(line.prompt, meanings, line.critical), said, reader)
    return Answer(meant.meaning, meant.how, meant.nearest, meant.margin)
