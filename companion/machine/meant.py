"""The phrases that may be said, by what they mean: for whoever understands more than the phrases."""

from collections.abc import Mapping
from dataclasses import dataclass

from companion.procedure.kinds.base import Meaning, Phrases
from companion.procedure.model import Procedure
from companion.procedure.step_parts import Item

_NAMES = {
    "confirm": "it has been done",
    "agrees": "yes, it agrees",
    "normal": "all is as it should be",
    "differs": "no, it does not agree",
}
"""What phrases of a step's own mean, in the words the reader of meanings was taught; what leads on comes first."""

Groups = Mapping[str, tuple[str, ...]]
"""Each meaning by its name, with the phrases that say it."""


@dataclass(frozen=True)
class Meant:
    """What is asked and what may be meant, values and the program's own phrases left out."""

    prompt: str
    own: Groups
    """Answers to it, the one that leads on first."""
    anywhere: Groups
    """What may be said at any step besides."""
    critical: bool
    title: str
    items: tuple[Item, ...]
    """What the step compares one after the other."""
    rest: tuple[Item, ...]
    """What is asked now and what the step asks next, where one reply may answer several."""
    yes: str
    """The phrase that a mere yes stands for, or nothing: it then needs the answer itself."""
    no: str


def grouped(found: Mapping[str, tuple[Meaning, str]], procedure: Procedure) -> Groups:
    """The phrases of one meaning together; what sets one apart from those of its meaning stands beside it."""
    groups: dict[str, list[str]] = {}
    names = [*_NAMES, "branch"]
    for phrase, (meaning, apart) in sorted(found.items(), key=lambda item: names.index(item[1][0].kind)):
        groups.setdefault(_name(meaning, apart, procedure), []).append(phrase)
    return {name: tuple(phrases) for name, phrases in groups.items()}


def by_mere_words(own: Phrases) -> tuple[str, str]:
    """The phrases that a mere yes and a mere no stand for, or nothing.

    A yes stands for the one phrase that says it is done or agrees: of two, each may say something else. To what is
    looked at it says nothing ("Swollen or sore?"). A no stands for the one phrase that says it does not agree; to
    something that was to be done it may be "not yet".
    """
    said = {kind: [phrase for phrase, meaning in own.items() if meaning.kind == kind] for kind in _NAMES}
    leads, against = [*said["confirm"], *said["agrees"], *said["normal"]], said["differs"]
    yes = leads[0] if len(leads) == 1 and not said["normal"] else ""
    return yes, against[0] if len(against) == 1 else ""


def may_be_denied(own: Phrases) -> bool:
    """Whether a mere no may answer it: what is compared or looked at, and not what is to be done or read off."""
    return any(meaning.kind in ("differs", "normal", "branch") for meaning in own.values())


def _name(meaning: Meaning, apart: str, procedure: Procedure) -> str:
    if meaning.kind == "branch":
        return f"not as it should be, leading to: {procedure.branch(meaning.arg).title}"
    named = _NAMES[meaning.kind]
    return f"{named}: {apart}" if apart else named
