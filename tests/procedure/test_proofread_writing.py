"""Error-prone writing, row by row.

ISMP List of Error-Prone Abbreviations (2021), Joint Commission "Do Not Use" list."""

import pytest

from companion.procedure.proofreading.writing import misread

MISREAD = [
    ("Give 10U now", "10U", "units"),
    ("Give 10 U now", "U", "units"),
    ("Give 5 u", "u", "units"),
    ("Give 100 IU", "IU", "units"),
    ("How many U?", "U", "units"),
    ("once QD", "QD", "daily"),
    ("once q.d. please", "q.d", "daily"),
    ("drops OD", "OD", "daily, or right eye"),
    ("QOD", "QOD", "every other day"),
    ("a dose of 1.0 mL", "1.0", "no zero after the point"),
    ("a dose of 2.50 mg", "2.50", "no zero after the point"),
    ("a dose of .5 mL", ".5", "a zero before the point"),
    ("50 µg", "µg", "mcg, or micro in words"),
    ("5 cc", "cc", "mL"),
    ("5cc", "5cc", "mL"),
    ("inject SC", "SC", "subcut, or subcutaneous"),
    ("inject SQ.", "SQ", "subcut, or subcutaneous"),
    ("inject sub q", "sub-q", "subcut, or subcutaneous"),
    ("MS 5 mg", "MS", "the medicine's full name"),
    ("MSO4", "MSO4", "the medicine's full name"),
    ("MgSO4 drip", "MgSO4", "the medicine's full name"),
    ("take HS", "HS", "at bedtime, or half strength"),
    ("take BT", "BT", "at bedtime"),
    ("D/C the line", "D/C", "discharge, or discontinue"),
    ("IJ line", "IJ", "injection"),
    ("spray IN", "IN", "intranasal"),
    ("use UD", "UD", "as directed"),
    ("TIW", "TIW", "three times a week"),
    ("ss tablet", "ss", "sliding scale, or half, in words"),
    ("see @ noon", "@", "at"),
    ("skin & fat", "&", "and"),
    ("skin + fat", "+", "plus, or and"),
    ("if > 50", ">", "less than, more than, at least, at most"),
    ("if < 70", "<", "less than, more than, at least, at most"),
    ("at 45°", "°", "degrees"),
    ("10mg", "10mg", "a space between figure and unit"),
    ("0.5mL", "0.5mL", "a space between figure and unit"),
    ("100000 units", "100000", "commas in large figures"),
    ("1:1,000", "1:1,000", "an amount per mL"),
    ("1/2 tablet", "1/2", "half, a third and so on"),
]
FINE = [
    "Give 10 units, 0.5 mL of 100 units/mL",
    "30 mL/h, 42 drops/min with 20 drops/mL",
    "U-100 and U-40",
    "10 mcg/kg/min",
    "at 12:30, on 2022-01-05",
    "100,000 units in 1,000 mL",
    "In the skin. Us, but, use, of glass; hide it, miss it",
    "0.05 mL and 10 mL and 20 s and 100 mg",
    "version 4.10.2",
    "You are in the ward; do not push.",
]


@pytest.mark.parametrize(("text", "found", "better"), MISREAD)
def test_found(text: str, found: str, better: str) -> None:
    assert misread(text) == [(found, better)]


@pytest.mark.parametrize("text", FINE)
def test_left_alone(text: str) -> None:
    assert misread(text) == []
