"""Units and what they measure. A unit is one name, or one name per another (per a third)."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Final, Literal

from companion.errors import DoseError

Dimension = Literal["mass", "substance", "equivalents", "units", "volume", "time", "drops", "body mass", "count"]
"""`units` are the biological units of insulin or heparin, which no factor turns into milligrams. `body mass` stands
apart from `mass` so that a dose in kilograms and a person in milligrams are both refused."""

DRUG: Final = frozenset({"mass", "substance", "equivalents", "units"})
"""The dimensions an amount of medicine can have."""

_NAMES: Final[dict[str, tuple[Dimension, Fraction]]] = {
    "mcg": ("mass", Fraction(1, 1000)),
    "mg": ("mass", Fraction(1)),
    "g": ("mass", Fraction(1000)),
    "mmol": ("substance", Fraction(1)),
    "mEq": ("equivalents", Fraction(1)),
    "units": ("units", Fraction(1)),
    "mL": ("volume", Fraction(1)),
    "dL": ("volume", Fraction(100)),
    "L": ("volume", Fraction(1000)),
    "min": ("time", Fraction(1, 60)),
    "h": ("time", Fraction(1)),
    "day": ("time", Fraction(24)),
    "drops": ("drops", Fraction(1)),
    "kg": ("body mass", Fraction(1)),
    "lb": ("body mass", Fraction(45359237, 100000000)),
    "parts": ("count", Fraction(1)),
}
"""Each unit's dimension and its size in mg, mmol, mEq, units, mL, hours, drops, kg or parts.
The pound is 0.45359237 kg exactly (international yard and pound agreement, 1959)."""

_ALIASES: Final = {
    "unit": "units",
    "ml": "mL",
    "drop": "drops",
    "hour": "h",
    "hours": "h",
    "hr": "h",
    "minute": "min",
    "minutes": "min",
    "mins": "min",
    "days": "day",
    "lbs": "lb",
    "pound": "lb",
    "pounds": "lb",
    "part": "parts",
    "dose": "parts",
    "doses": "parts",
}

_MISREAD: Final = {
    "U": ("units", "`U` is misread as a 0 or a 4"),
    "u": ("units", "`u` is misread as a 0 or a 4"),
    "IU": ("units", "`IU` is misread as IV or 10"),
    "iu": ("units", "`iu` is misread as IV or 10"),
    "µg": ("mcg", "the micro sign is misread as an m"),
    "μg": ("mcg", "the micro sign is misread as an m"),
    "ug": ("mcg", "`ug` is misread as mg"),
    "cc": ("mL", "`cc` is misread as U"),
    "gm": ("g", "`gm` is no unit"),
    "gtt": ("drops", "`gtt` is not a word everyone reads"),
    "gtts": ("drops", "`gtts` is not a word everyone reads"),
    "%": ("mg/mL", "a percentage hides the strength, and 1 % is 10 mg/mL"),
}
"""Error-prone units, what to write, and why (ISMP list of error-prone abbreviations, 2021)."""

_WORDS: Final = {"h": "hour", "min": "minute", "units": "unit", "drops": "drop", "parts": "part"}


_SHAPES: Final = {
    "drug": "an amount of medicine",
    "count": "a number of parts",
    "volume": "a volume",
    "time": "a time",
    "body mass": "a body mass in kg or lb",
    "drops": "a number of drops",
}


def shape_words(shape: str) -> str:
    """`drug/volume` -> `an amount of medicine per volume`."""
    first, *rest = shape.split("/")
    bare = ("a medicine" if each == "drug" else each for each in rest)
    return " per ".join([_SHAPES[first], *bare])


@dataclass(frozen=True)
class Unit:
    """`names[0]` per `names[1]` per `names[2]`, each a key of the table: `("mcg", "kg", "min")` is mcg/kg/min."""

    names: tuple[str, ...]

    @cached_property
    def dimensions(self) -> tuple[Dimension, ...]:
        """One dimension a name."""
        return tuple(_NAMES[name][0] for name in self.names)

    @cached_property
    def shape(self) -> str:
        """What it measures, medicines of any dimension alike: `drug/volume`, `volume/time`, `body mass`."""
        return "/".join("drug" if each in DRUG else each for each in self.dimensions)

    @cached_property
    def size(self) -> Fraction:
        """How many of the base units (mg, units, mL, h, kg ...) one of these is."""
        size = _NAMES[self.names[0]][1]
        for name in self.names[1:]:
            size /= _NAMES[name][1]
        return size

    def __str__(self) -> str:
        return "/".join(self.names)

    def after(self, number: str) -> str:
        """The unit in words to follow `number`: `1` gives `unit per mL`, `6` gives `hours`."""
        first = self.names[0]
        words = _WORDS.get(first, first)
        if first in _WORDS or first == "day":
            words += "" if number == "1" else "s"
        return " per ".join([words, *(_WORDS.get(name, name) for name in self.names[1:])])


def is_unit(text: str) -> bool:
    """Whether `text` alone is a unit."""
    return text in _NAMES or text in _ALIASES


def unit_name(text: str, culprit: str) -> str:
    """The table's name for one unit as written. Raises DoseError for an error-prone or unknown one."""
    name = _ALIASES.get(text, text)
    if name in _NAMES:
        return name
    if text in _MISREAD:
        better, why = _MISREAD[text]
        raise DoseError(f"{culprit} uses `{text}`, and {why}; write `{better}`")
    for known in (*_NAMES, *_ALIASES):
        if known.lower() == text.lower():
            raise DoseError(f"{culprit} uses `{text}`; write `{_ALIASES.get(known, known)}`")
    accepted = ", ".join(_NAMES)
    raise DoseError(f"{culprit} has the unknown unit `{text}`; accepted: {accepted}, and one per another such as mL/h")


def parse_unit(text: str, culprit: str = "") -> Unit:
    """A unit such as `mL`, `units/mL`, `mL per hour`. Raises DoseError."""
    culprit = culprit or f"the unit `{text}`"
    return Unit(tuple(unit_name(part.strip(), culprit) for part in text.replace(" per ", "/").split("/")))
