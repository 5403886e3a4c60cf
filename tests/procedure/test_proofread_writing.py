"""Error-prone writing in prose; the doses stand in tests/data/writings.tsv.

ISMP List of Error-Prone Abbreviations (2021), Joint Commission "Do Not Use" list."""

import pytest

from companion.speech.writing import remarks

MISREAD = [
    ("How many U?", "U", "units"),
    ("once QD", "QD", "daily"),
    ("once q.d. please", "q.d", "daily"),
    ("drops OD", "OD", "daily, or right eye"),
    ("a dose of 1.0 mL", "1.0", "write `1 mL`"),
    ("inject SQ.", "SQ", "subcut, or subcutaneous"),
    ("inject sub q", "sub-q", "subcut, or subcutaneous"),
    ("MSO4", "MSO4", "the medicine's full name"),
    ("MgSO4 drip", "MgSO4", "the medicine's full name"),
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
    told = list(remarks(text))
    assert [each.found for each in told] == [found]
    assert told[0].refused and better in told[0].sentence


@pytest.mark.parametrize("text", FINE)
def test_left_alone(text: str) -> None:
    assert list(remarks(text)) == []
