"""What can be judged at all. A step is recognised by its ideas; without any, nobody can tell whether it was said."""

from collections.abc import Collection, Sequence

from companion.procedure.model import Procedure
from companion.speech.language import tell

_NAMED = 3
"""Steps named in a sentence that is spoken; the others are counted."""


def unrecognisable(expected: Sequence[str], known: Collection[str]) -> tuple[str, ...]:
    """Those of the steps due that have no ideas; `known` are the ids that have."""
    return tuple(name for name in expected if name not in known)


def why_not_judged(procedure: Procedure, expected: Sequence[str], unknown: Collection[str]) -> str:
    """The end of a sentence; empty where it can be judged.

    It cannot where a critical step cannot be recognised, or none at all. One that is not critical is left out of the
    judgement: it could neither pass nor fail anybody.
    """
    critical = [name for name in expected if name in unknown and procedure.step(name).critical]
    if expected and len(unknown) == len(expected):
        return tell(procedure.language, "no ideas")
    if critical:
        return tell(procedure.language, "no critical ideas", titles=_some(procedure, critical))
    return ""


def warning(procedure: Procedure, expected: Sequence[str], unknown: Sequence[str]) -> str:
    """What the student is told before it begins; empty where every step can be recognised."""
    why = why_not_judged(procedure, expected, unknown)
    if why:
        return tell(procedure.language, "cannot be judged", why=why)
    if unknown:
        return tell(procedure.language, "counts neither way", titles=_some(procedure, unknown))
    return ""


def _some(procedure: Procedure, names: Sequence[str]) -> str:
    return some([procedure.step(name).title for name in names], procedure.language)


def some(titles: Sequence[str], language: str) -> str:
    """The first few, and how many more there are."""
    named, more = ", ".join(titles[:_NAMED]), len(titles) - _NAMED
    return tell(language, "and more", titles=named, more=more) if more > 0 else named
