"""What insulin from a vial and by pen have in common: what is given in a walk, and how branches end."""

from collections.abc import Mapping

from tests.procedures.library import procedure

VIAL, PEN = procedure("subcutaneous-insulin"), procedure("insulin-pen")
_NINETY = "ninety milligrams per deciliter"
# The walker's day is 4 March 2030.
GIVEN: Mapping[str, str] = {
    "ordered-kind": "rapid acting",
    "ordered-dose": "eighteen units",
    "glucose": "one hundred forty milligrams per deciliter",
    "site": "left abdomen",
    "expiry": "june twenty thirty one",
    "opened-on": "first of march twenty thirty",
    "low-again": _NINETY,
    "late-again": _NINETY,
    "signs-glucose": _NINETY,
    "faint-glucose": _NINETY,
    "late-faint-glucose": _NINETY,
    "error-glucose": _NINETY,
    "high-ketones": "zero point four millimoles per liter",
}
VIAL_GIVEN = {
    **GIVEN,
    "stock-strength": "one hundred units per milliliter",
    "syringe-scale": "one hundred units per milliliter",
}
PEN_GIVEN = {
    **GIVEN,
    "pen-strength": "one hundred units per milliliter",
}
ENDINGS: Mapping[str, str] = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "allergy": "abandon",
    "order-unclear": "again order",
    "held": "abandon",
    "ask-prescriber": "return",
    "device-too-small": "abandon",
    "wait-for-time": "return",
    "already-given": "abandon",
    "dose-unfamiliar": "return",
    "large-dose": "return",
    "figure-too-old": "return",
    "high-glucose": "return",
    "ketones-high": "abandon",
    "meter-high": "return",
    "signs-checked": "return",
    "meal-kind": "again order",
    "label-differs": "again gather",
    "concentrated": "abandon",
    "cloudy": "return",
    "site-unfit": "again site",
    "bleeding-or-bruise": "return",
    "low-glucose": "again hands-before-patient",
    "low-afterwards": "return",
    "still-low": "return",
    "emergency": "abandon",
    "anaphylaxis": "abandon",
    "no-better": "return",
    "needle-stick": "abandon",
    "fainting": "again hands-before-patient",
    "fainting-afterwards": "return",
    "interrupted-dose": "abandon",
    "error-noticed": "return",
    "called-away": "return",
}
