"""What can be wrong with a procedure whose shape is right. Pure; every fault at once."""

from companion.core.lint import (
    always,
    conditions,
    figures,
    medicine,
    naming,
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


def faults(procedure: Procedure) -> list[Fault]:
    """Every fault of a procedure, in no particular order; empty when it may be used."""
    return [
        fault
        for check in (
            naming,
            references,
            order,
            always,
            conditions,
            settings,
            replies,
            texts,
            figures,
            medicine,
            writing,
            spoken_ideas,
        )
        for fault in check.faults(procedure)
    ]
