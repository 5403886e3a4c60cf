"""What a spoken value may be: its type, unit and plausible range, and a value once given."""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from companion.speech.numbers import written
from companion.speech.writing import figure

_LONGEST = 24


def plain_decimal(given: object) -> Decimal:
    """`0.5` -> Decimal. Refuses what is unsafe in writing (`.5`, `5.0`, `1e3`, `007`) with a ValueError.

    Large ones may lack their commas: files are not read aloud digit by digit.
    """
    if isinstance(given, Decimal | int) and not isinstance(given, bool):
        return Decimal(given)
    if not isinstance(given, str) or len(given.strip()) > _LONGEST:
        shown = given[:_LONGEST] if isinstance(given, str) else type(given).__name__
        raise ValueError(f"`{shown}` is no number written plainly; accepted: such as `4`, `0.5` or `-28`")
    return figure(given.strip(), counted=False)


Number = Annotated[Decimal, BeforeValidator(plain_decimal)]
"""A number written plainly in a file."""


class Frozen(BaseModel):
    """Base of everything read from a file or written to a record: frozen, and no key it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)


class NumberValue(Frozen):
    """A number with its unit, from `least` to `most` in steps of `by`; or one of the few `among`, which set both."""

    type: Literal["number"]
    unit: str = Field(min_length=1)
    least: Number
    most: Number
    by: Number = Field(default=Decimal(1), gt=0)
    among: tuple[Number, ...] = Field(default=(), max_length=40)

    @model_validator(mode="before")
    @classmethod
    def _spanned(cls, data: object) -> object:
        """The range that the figures of `among` span, where none is written."""
        if not isinstance(data, dict) or not data.get("among") or "least" in data or "most" in data:
            return data
        try:
            figures = [plain_decimal(each) for each in data["among"]]
        except ValueError:
            return data  # told where it stands
        return data | {"least": min(figures), "most": max(figures)}

    def takes(self, number: Decimal) -> bool:
        """Whether a figure is plausible here; the steps are not looked at."""
        return number in self.among if self.among else self.least <= number <= self.most

    @model_validator(mode="after")
    def _ordered(self) -> "NumberValue":
        if self.among and (self.least, self.most) != (min(self.among), max(self.among)):
            raise ValueError("`among` stands beside a range; accepted: either the figures, or `least` and `most`")
        if len(set(self.among)) != len(self.among):
            raise ValueError("`among` names a figure twice; accepted: each figure once")
        if self.most < self.least:
            raise ValueError(f"the range runs backwards: least {self.least}, most {self.most}")
        if (self.most - self.least) / self.by > 1000:
            raise ValueError("the range holds more than 1,000 values; narrow it or make `by` larger")
        return self


class DateValue(Frozen):
    """A date said in full (`day`), as month and year (`month`, meaning the last day of it), or either way.

    `month or day` is for what is printed on a package: days of the first thousand, and every month.

    `earliest` and `latest` are whole days from the day of the session, so -28 is four weeks ago.
    """

    type: Literal["date"]
    earliest: int = Field(ge=-1000)
    latest: int = Field(le=4000)
    precision: Literal["day", "month", "month or day"] = "day"

    @model_validator(mode="after")
    def _ordered(self) -> "DateValue":
        if self.latest < self.earliest:
            raise ValueError(f"the range runs backwards: earliest {self.earliest}, latest {self.latest}")
        if self.precision == "day" and self.latest - self.earliest > 1000:
            raise ValueError("the range holds more than 1,000 days; narrow it or use precision: month")
        return self


class TimeValue(Frozen):
    """A time of day on the 24-hour clock, in steps of `by` minutes."""

    type: Literal["time"]
    by: int = Field(default=5, ge=1, le=60)


class ChoiceValue(Frozen):
    """One of a few named things (a side, a site, a kind of insulin)."""

    type: Literal["choice"]
    choices: tuple[str, ...] = Field(min_length=2, max_length=40)


class TagValue(Frozen):
    """A staff tag: `digits` digits said one by one. It stands for a person without naming one."""

    type: Literal["tag"]
    digits: int = Field(default=2, ge=2, le=3)


ValueSpec = Annotated[NumberValue | DateValue | TimeValue | ChoiceValue | TagValue, Field(discriminator="type")]


class Value(Frozen):
    """A value once given. `text` is a decimal string, an ISO date, `HH:MM`, the choice, or the digits."""

    type: Literal["number", "date", "time", "choice", "tag"]
    text: str
    unit: str = ""

    def decimal(self) -> Decimal:
        """The number. Raises ValueError when this is not one."""
        if self.type != "number":
            raise ValueError(f"{self.text} is a {self.type}, not a number")
        return Decimal(self.text)

    def written(self) -> str:
        """As shown: numbers as the rule book writes them, the unit in full or as declared."""
        text = written(self.decimal()) if self.type == "number" else self.text
        return f"{text} {self.unit}" if self.unit else text
