"""What takes long to make and is only read: made once for all tests of a run, also where several processes share it."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.waiting import until

_LIMIT_S = 540.0


def once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], str]) -> tuple[Path, str]:
    """The folder that `make` fills and what it says, by whoever comes first; the others wait. Never kept from one run
    to the next, so that it is never of another state of the program. Where `make` fails, all who asked fail."""
    mine = factory.getbasetemp()
    place = (mine.parent if "PYTEST_XDIST_WORKER" in os.environ else mine) / name
    made, failed, home = place / "made", place / "failed", place / "home"
    try:
        place.mkdir()
    except FileExistsError:
        until(lambda: made.exists() or failed.exists(), _LIMIT_S)
    else:
        home.mkdir()
        try:
            (place / "part").write_text(make(home), encoding="utf-8")
            (place / "part").rename(made)
        except BaseException as fault:
            (place / "part").write_text(str(fault), encoding="utf-8")
            (place / "part").rename(failed)
            raise
    assert made.exists(), failed.read_text(encoding="utf-8")
    return home, made.read_text(encoding="utf-8")
