"""What `companion demo` leaves, made once for all tests of a run: hearing it through takes most of a minute."""

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.waiting import until

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
    """Whoever comes first makes it, also where several processes share the run; the others wait. Never kept from one
    run to the next, so that it is never of another state of the program."""
    mine = factory.getbasetemp()
    place = (mine.parent if "PYTEST_XDIST_WORKER" in os.environ else mine) / "demo-session"
    code, said, home = place / "code", place / "said", place / "home"
    try:
        place.mkdir()
    except FileExistsError:
        until(code.exists, _LIMIT_S)
    else:
        env = {**os.environ, "COMPANION_HOME": str(home)}
        command = [sys.executable, "-m", "companion", "demo"]
        done = subprocess.run(command, env=env, capture_output=True, text=True, check=False, timeout=_LIMIT_S)
        said.write_text(done.stdout + done.stderr, encoding="utf-8")
        (place / "part").write_text(str(done.returncode), encoding="utf-8")
        (place / "part").rename(code)
    assert code.read_text(encoding="utf-8") == "0", said.read_text(encoding="utf-8")
    return DemoSession(home, said.read_text(encoding="utf-8"))
