"""What can be judged at all. A step is recognised by its ideas; without any, nobody can tell whether it was said."""

from collections.abc import Collection, Sequence

from companion.procedure.model import Procedure

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
        return "the procedure's file does not say in which words any of its steps is said"
    if critical:
        named = _some(procedure, critical)
        return f"the procedure's file does not say in which words these critical steps are said: {named}"
    return ""


def warning(procedure: Procedure, expected: Sequence[str], unknown: Sequence[str]) -> str:
    """What the student is told before it begins; empty where every step can be recognised."""
    why = why_not_judged(procedure, expected, unknown)
    if why:
        return f"This rehearsal cannot be judged, and nobody passes it: {why}. You can practise all the same."
    if unknown:
        return (
            "The procedure's file does not say in which words these steps are said, so they count neither as said nor "
            f"as left out: {_some(procedure, unknown)}."
        )
    return ""


def _some(procedure: Procedure, names: Sequence[str]) -> str:
    titles = [procedure.step(name).title for name in names]
    more = len(titles) - _NAMED
    return ", ".join(titles[:_NAMED]) + (f" and {more} more" if more > 0 else "")
