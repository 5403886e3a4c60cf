"""`companion check` finds nothing in any procedure of the library; what it proves takes longest of all."""

import pytest

from tests.procedures.library import NAMES, check_is_clean


@pytest.mark.parametrize("name", NAMES)
def test_the_file_is_clean(name: str) -> None:
    check_is_clean(name)
