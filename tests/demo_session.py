"""What `companion demo` leaves, made once for all tests of a run: hearing it through takes most of a minute."""

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.commands import companion
from tests.once import once

_LIMIT_S = 540.0


@dataclass(frozen=True)
class DemoSession:
    """`home` is a user's whole folder with keys and the one record in it: to be read only, or copied by `into`."""

    home: Path
    said: str
    """What the program printed."""

    @property
    def record(self) -> Path:
        (path,) = (self.home / "records").glob("*.jsonl")
        return path

    def into(self, home: Path) -> Path:
        """A copy of the whole folder, to be changed at will."""
        shutil.copytree(self.home, home, dirs_exist_ok=True)
        return home


def demo_session(factory: pytest.TempPathFactory) -> DemoSession:
    """The demo of this run."""
    return DemoSession(*once(factory, "demo-session", _play))


def _play(home: Path) -> str:
    done = companion("demo", home=home)
    said = done.stdout + done.stderr
    assert done.returncode == 0, said
    return said
