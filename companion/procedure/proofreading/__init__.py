"""What can be wrong with a procedure whose shape is right. Pure; every fault at once."""

from companion.procedure.model import Procedure
from companion.procedure.proofreading import (
    always,
    conditions,
    emergencies,
    medicine,
    naming,
    offers,
    order,
    readings,
    references,
    replies,
    settings,
    spoken_ideas,
    texts,
    writing,
)
from companion.procedure.proofreading.placed import Fault

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
    readings,
    medicine,
    writing,
    spoken_ideas,
)


def faults(procedure: Procedure) -> list[Fault]:
    """Every fault of a procedure, in no particular order; empty when it may be used."""
    return [fault for check in _CHECKS for fault in check.faults(procedure)]
