"""A tag: four random digits and a check digit, short enough to be spoken and written on paper.

The check digit is Damm's (Damm, Total anti-symmetrische Quasigruppen, Marburg 2004): it shows every single wrong digit
and every swap of two neighbours, so that a slip does not open another history.
"""

import re
import secrets

from companion.errors import UsageError

TAGS = 10_000
_TABLE = (
    "0317598642",
    "7092154863",
    "4206871359",
    "1750983426",
    "6123045978",
    "3674209581",
    "5869720134",
    "8945362017",
    "9438617205",
    "2581436790",
)


def check_digit(digits: str) -> str:
    """The digit that completes `digits`."""
    interim = "0"
    for digit in digits:
        interim = _TABLE[int(interim)][int(digit)]
    return interim


def new_tag() -> str:
    """A random tag."""
    digits = f"{secrets.randbelow(TAGS):04}"
    return digits + check_digit(digits)


def read_tag(text: str) -> str:
    """The five digits of a tag, however they are grouped. Raises UsageError when it cannot be one."""
    digits = re.sub(r"[\s.-]", "", text)
    if not re.fullmatch(r"[0-9]{5}", digits, re.ASCII):
        raise UsageError(f"tag `{text}`: accepted are the five digits that `companion site new` gave")
    if check_digit(digits[:-1]) != digits[-1]:
        raise UsageError(f"tag `{text}`: one of its digits is wrong or two are swapped; look at the paper again")
    return digits
