"""What can be wrong with a procedure whose shape is right. Pure; every fault at once."""

from companion.core.lint import (
    always,
    conditions,
    emergencies,
    figures,
    medicine,
    naming,
    offers,
    order,
    references,
    replies,
    settings,
    spoken_ideas,
    texts,
    writing,
)
from companion.core.lint.sites import Fault
from companion.core.procedure import Procedure

__all__ = ["Fault", "faults"]

_CHECKS = (
    naming,
    references,
    order,
    always,
    conditions,
    settings,
    replies,
    offers,
    emergencies,
    texts,
    figures,
    medicine,
    writing,
    spoken_ideas,
)


def faults(procedure: Procedure) -> list[Fault]:
    """Every fault of a procedure, in no particular order; empty when it may be used."""
    return [fault for check in _CHECKS for fault in check.faults(procedure)]
