"""What there is in one language. What it leaves open is English."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from companion.speech.language.asides import Asides
from companion.speech.language.controls import Control


@dataclass(frozen=True)
class Language:
    """One of those the program speaks by itself."""

    sentences: Mapping[str, str] = field(default_factory=dict)
    """By key, with the fields of the English ones or fewer."""
    controls: Mapping[Control, tuple[str, ...]] = field(default_factory=dict)
    """How each control is said, the phrase that is offered first."""
    asides: Asides | None = None
    spelling: tuple[str, ...] | None = None
    """What the 32 figures and letters of a code are said as, in the order of their worth."""
    digits: tuple[tuple[str, ...], ...] | None = None
    """How each digit is said by itself, the program's own way first."""
    words_per_s: float | None = None
    """A slow voice."""
