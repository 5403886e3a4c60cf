"""Dose arithmetic: quantities with units, formulas with their working, devices, dates and glucose levels."""

from companion.dose.quantity import Quantity, parse_quantity, parse_strength, quantity
from companion.dose.registry import FORMULAS, FormulaInfo, TermInfo, result_unit, work_out
from companion.dose.working import Worked

__all__ = [
    "FORMULAS",
    "FormulaInfo",
    "Quantity",
    "TermInfo",
    "Worked",
    "parse_quantity",
    "parse_strength",
    "quantity",
    "result_unit",
    "work_out",
]
