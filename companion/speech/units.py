"""Every unit the program knows, once: how it is written, said and measured, and which writings of it are misread."""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Final, Literal

from companion.errors import DoseError, Miswritten

Dimension = Literal["mass", "substance", "equivalents", "units", "volume", "time", "drops", "body mass", "count"]
"""`units` are the biological units of insulin or heparin, which no factor turns into milligrams. `body mass` stands
apart from `mass` so that a dose in kilograms and a person in milligrams are both refused."""

DRUG: Final = frozenset({"mass", "substance", "equivalents", "units"})
"""The dimensions an amount of medicine can have."""

# As written | said of one | what it measures and how many of the base unit it is | also written.
# The base units are mg, mmol, mEq, units, mL, hours, drops, kg and parts. The pound is 0.45359237 kg exactly
# (international yard and pound agreement, 1959). No dose is worked out in those that measure nothing here.
_TABLE: Final = """
units | unit | units 1
mL | milliliter | volume 1 | ml
L | liter | volume 1000
dL | deciliter | volume 100
mcg | microgram | mass 1/1000
mg | milligram | mass 1
g | gram | mass 1000
mmol | millimole | substance 1
mEq | milliequivalent | equivalents 1
kg | kilogram | body mass 1
lb | pound | body mass 45359237/100000000 | lbs
min | minute | time 1/60 | mins
h | hour | time 1 | hr
day | day | time 24
drops | drop | drops 1
parts | part | count 1
doses | dose | count 1
ng | nanogram
mol | mole
mm | millimeter
cm | centimeter
m | meter
kcal | kilocalorie
kPa | kilopascal
s | second
weeks | week
months | month
years | year
breaths | breath
beats | beat
tablets | tablet
capsules | capsule
puffs | puff
ampoules | ampoule
vials | vial
° | degree
% | percent, percent
°C | degree celsius, degrees celsius
°F | degree fahrenheit, degrees fahrenheit
mmHg | millimeter of mercury, millimeters of mercury
cmH2O | centimeter of water, centimeters of water
G | gauge, gauge
"""

MISREAD: Final = {
    **dict.fromkeys(("U", "u"), ("units", "is misread as a 0 or a 4")),
    **dict.fromkeys(("IU", "iu"), ("units", "is misread as IV or 10")),
    **dict.fromkeys(("µg", "μg"), ("mcg", "has a micro sign, which is misread as an m")),
    "ug": ("mcg", "is misread as mg"),
    "cc": ("mL", "is misread as U"),
    "gm": ("g", "is no unit"),
    **dict.fromkeys(("gtt", "gtts"), ("drops", "is not a word everyone reads")),
}
"""Error-prone units, what to write, and why (ISMP list of error-prone abbreviations, 2021)."""

# What else people call a unit, and a dictation writes for it (common practice; at the bedside, from memory).
# Unit | spelt elsewhere | written short, of one and of many | of many only | called otherwise
_CALLED: Final = """
units | | | u
mL | millilitre | ml, mL | mls, mLs | mil, mils, mills
L | litre | l, L
mcg | | mcg, µg, ug | | mics
mg | | mg | mgs | mig, migs
g | | g
kg | | kg | | kilos
mmol | | mmol
cm | centimetre | cm
mm | millimetre | mm
% | | %, per cent
° | | °
"""

_SHAPES: Final = {
    "drug": "an amount of medicine",
    "count": "a number of parts",
    "volume": "a volume",
    "time": "a time",
    "body mass": "a body mass in kg or lb",
    "drops": "a number of drops",
}
_IN_FULL: Final = frozenset({"h", "min", "units", "drops", "parts", "doses", "day"})
"""Units whose words stand in a working, since they are as short as the sign or clearer."""


@dataclass(frozen=True)
class UnitName:
    """A unit's two spoken forms: `milliliter` for one, `milliliters` for any other number."""

    one: str
    many: str

    @property
    def half(self) -> str:
        """`half a milliliter`, `half an hour`."""
        return f"half {'an' if self.one.startswith(('hour', 'ampoule')) else 'a'} {self.one}"


_NAMES: dict[str, UnitName] = {}
_SIZES: dict[str, tuple[Dimension, Fraction]] = {}
_ALSO: dict[str, str] = {}
"""Other writings of a unit, letter for letter."""
_WORDS: dict[str, str] = {}
"""Units in words, which nobody misreads, whatever their capitals."""


CALLED: Final[dict[str, str]] = {}
"""Units as people call them beside their written names and words, letter for letter."""
UNIT_SPELLINGS: Final[dict[str, tuple[str, ...]]] = {}
"""How else each word for a unit may be written where it is said: nothing that sounds otherwise."""


def _read_table() -> None:
    for line in _TABLE.strip().splitlines():
        written, said, *rest = (part.strip() for part in line.split("|"))
        one, _, many = said.partition(", ")
        _NAMES[written] = UnitName(one, many or one + "s")
        _WORDS.update({one: written, (many or one + "s"): written})
        if rest:
            dimension, _, size = rest[0].rpartition(" ")
            _SIZES[written] = (dimension, Fraction(size))  # type: ignore[assignment]
        _ALSO.update(dict.fromkeys(rest[1].split() if len(rest) > 1 else (), written))


def _read_called() -> None:
    for line in _CALLED.strip().splitlines():
        unit, spelt, short, of_many, others = (
            tuple(each.strip() for each in part.split(",") if each.strip()) for part in f"{line}||||".split("|")[:5]
        )
        name = _NAMES[unit[0]]
        ones, manys = (name.one, *spelt), (name.many, *(f"{each}s" for each in spelt))
        for words, writings in ((ones, short), (manys, (*short, *of_many))):
            for word in words if writings else ():
                UNIT_SPELLINGS[word] = (*(each for each in words if each != word), *writings)
        # One letter alone, such as `g` or `u`, is no name for a unit among other words.
        named = (*spelt, *manys[1:], *(each for each in (*short, *of_many) if len(each) > 1), *others)
        CALLED.update(dict.fromkeys(named, unit[0]))


_read_table()
_read_called()

DOSED: Final = tuple(_SIZES)
"""The simple units that doses are worked out in."""

WRITTEN_UNITS = tuple(sorted({*_NAMES, "days"}, key=len, reverse=True))
"""The simple written units, longest first; a rate joins them by `/`, such as `mg/kg/h`."""

ANY_UNIT: Final = "|".join(
    re.escape(each) for each in sorted({*_NAMES, *_ALSO, *_WORDS, *MISREAD}, key=len, reverse=True)
)
"""A pattern for every way one unit may be written, well or badly."""


def shape_words(shape: str) -> str:
    """`drug/volume` -> `an amount of medicine per volume`."""
    first, *rest = shape.split("/")
    bare = ("a medicine" if each == "drug" else each for each in rest)
    return " per ".join([_SHAPES[first], *bare])


@dataclass(frozen=True)
class Unit:
    """`names[0]` per `names[1]` per `names[2]`, each as the table writes it: `("mcg", "kg", "min")` is mcg/kg/min."""

    names: tuple[str, ...]

    @property
    def undosed(self) -> str:
        """Its first name in which no dose is worked out, or nothing."""
        return next((name for name in self.names if name not in _SIZES), "")

    @cached_property
    def dimensions(self) -> tuple[Dimension, ...]:
        """One dimension a name. Raises DoseError for a unit in which no dose is worked out."""
        if self.undosed:
            raise DoseError(f"no dose is worked out in `{self.undosed}`; accepted: {', '.join(DOSED)}")
        return tuple(_SIZES[name][0] for name in self.names)

    @cached_property
    def shape(self) -> str:
        """What it measures, medicines of any dimension alike: `drug/volume`, `volume/time`, `body mass`."""
        return "/".join("drug" if each in DRUG else each for each in self.dimensions)

    @cached_property
    def size(self) -> Fraction:
        """How many of the base units (mg, units, mL, h, kg ...) one of these is."""
        size = _SIZES[self.names[0]][1]
        for name in self.names[1:]:
            size /= _SIZES[name][1]
        return size

    def __str__(self) -> str:
        return "/".join(self.names)

    def after(self, number: str) -> str:
        """The unit as it follows `number` in a working: `1` gives `unit per mL`, `6` gives `hours`."""
        first, *rest = self.names
        words = first
        if first in _IN_FULL:
            words = _NAMES[first].one if number == "1" else _NAMES[first].many
        return " per ".join([words, *(_NAMES[name].one if name in _IN_FULL else name for name in rest)])


def is_unit(text: str) -> bool:
    """Whether `text` alone is a unit, well written."""
    return text in _NAMES or text in _ALSO or text.lower() in _WORDS


def better(text: str) -> tuple[str, str] | None:
    """For one unit badly written: what to write, and why; None where it is well written or no unit."""
    if text in MISREAD or is_unit(text):
        return MISREAD.get(text)
    for known in (*_NAMES, *_ALSO):
        if known.lower() == text.lower():
            return _ALSO.get(known, known), "has its capitals wrong"
    return None


def unit_written(text: str) -> str:
    """The table's name for one unit as written. Raises Miswritten for a misread or unknown one."""
    if is_unit(text):
        return text if text in _NAMES else _ALSO.get(text) or _WORDS[text.lower()]
    if fault := better(text):
        raise Miswritten(f"`{text}` {fault[1]}; write `{fault[0]}`")
    raise Miswritten(f"`{text}` is an unknown unit", f"{', '.join(DOSED)}, and one per another such as mL/h")


def unit_called(said: str) -> str:
    """The unit that words among others name, as the table writes it: `mL` for `mils`, `units/mL` for `units per mil`.
    Empty where they name none."""
    parts = [CALLED.get(part) or (part if len(part) > 1 else "") for part in said.split(" per ")]
    return str(parse_unit("/".join(parts))) if all(map(is_unit, parts)) else ""


@lru_cache(maxsize=512)
def unit_name(unit: str) -> UnitName:
    """The spoken names of `mL`, `units/mL`, `milliliters` or `units per milliliter`. Raises DoseError if unknown."""
    parts = [part.strip() for part in re.split(r"/| per ", unit.strip())]
    if not all(is_unit(part) for part in parts):
        raise DoseError(
            f"`{unit}` is not a unit that can be said; accepted: {', '.join(_NAMES)}, and rates such as units/mL"
        )
    first, *rest = [_NAMES[unit_written(part)] for part in parts]
    tail = "".join(f" per {name.one}" for name in rest)
    return UnitName(first.one + tail, first.many + tail)


@lru_cache(maxsize=512)
def parse_unit(text: str, culprit: str = "") -> Unit:
    """A unit such as `mL`, `units/mL`, `mL per hour`. Raises DoseError; `culprit` stands before the fault."""
    try:
        return Unit(tuple(unit_written(part.strip()) for part in text.replace(" per ", "/").split("/")))
    except DoseError as fault:
        raise DoseError(f"{culprit}: {fault}" if culprit else str(fault)) from None
