"""Whoever has learnt one procedure calls for help in the next in the same words."""

import pytest

from tests.procedures.library import FOLDER, procedure
from tests.walk import Walker

WORDS = (
    "this is an emergency",
    "call for help",
    "collapsed just now",
    "not breathing",
    "will not wake up",
    "having a seizure",
)
"""Common practice: signs that the public is taught as well."""


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("*.yaml")))
def test_an_emergency_is_called_in_the_same_words_everywhere(name: str) -> None:
    walker = Walker(procedure(name))
    allowed = walker.machine.allowed(walker.state)
    led = {allowed[word].arg if word in allowed else "" for word in WORDS}
    assert led == {"emergency"}
