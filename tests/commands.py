"""`companion` run as its user runs it: a process of its own, in a folder of its own, that is typed to and read.

Loading what the commands stand on takes longer than most of them; so one process loads it once, and forks for each.
A test of how the program starts, or of its streams, starts a Python of its own (`python -m companion`).
"""

import atexit
import gc
import json
import os
import subprocess
import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path
from select import select

from typer.testing import CliRunner

from companion.cli.app import COMMANDS, GROUPS, app_for

ROOT = Path(__file__).parents[1]
SHORT = ROOT / "tests" / "data" / "short.yaml"
KEYBOARD = ("--keyboard", "--silent")
_LIMIT_S = 540.0


class _Keeper:
    """The process that has everything loaded; it ends when nobody can ask it any more."""

    def __init__(self) -> None:
        env = {**os.environ, "PYDANTIC_DISABLE_PLUGINS": "1"}
        command = [sys.executable, "-m", "tests.commands"]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=env, cwd=ROOT)
        atexit.register(self.close)

    def close(self) -> None:
        self.process.communicate()

    def run(self, order: dict[str, object]) -> int:
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(json.dumps(order).encode() + b"\n")
        self.process.stdin.flush()
        if not select([self.process.stdout], [], [], _LIMIT_S)[0]:
            self.process.kill()
            raise TimeoutError(f"{order['words']} did not end within {_LIMIT_S} s")
        return int(self.process.stdout.readline())


_kept: list[_Keeper] = []


def kept() -> set[int]:
    """The process that stays for the next command."""
    return {keeper.process.pid for keeper in _kept}


def companion(*words: str, home: Path | None = None, typed: str = "", **env: str) -> "subprocess.CompletedProcess[str]":
    """Run `companion WORDS` to its end, with `typed` on its standard input; `home` is COMPANION_HOME."""
    if not _kept or _kept[0].process.poll() is not None:
        _kept[:] = [_Keeper()]
    env = {**os.environ, **env, **({} if home is None else {"COMPANION_HOME": str(home)})}
    with tempfile.TemporaryDirectory(prefix="said") as folder:
        names = [str(Path(folder) / name) for name in ("typed", "out", "err")]
        Path(names[0]).write_text(typed, encoding="utf-8")
        code = _kept[0].run({"words": words, "env": env, "streams": names})
        out, err = (Path(name).read_text(encoding="utf-8") for name in names[1:])
    return subprocess.CompletedProcess(words, code, out, err)


def inside(*words: str, typed: str = "") -> tuple[int, str]:
    """Run it within this process, where a test has put something in the place of a part: its exit code, and what it
    said. Raises what the program would tell in a sentence."""
    done = CliRunner().invoke(app_for(words[:1]), list(words), input=typed)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code, done.output


def _serve() -> None:
    for name in (*COMMANDS, *GROUPS):
        import_module(f"companion.cli.{name}")
    gc.freeze()
    for line in sys.stdin.buffer:
        child = os.fork()
        if child == 0:
            _become(**json.loads(line))
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)


def _become(words: list[str], env: dict[str, str], streams: list[str]) -> None:
    """From here on this process is the command; it ends as any Python does."""
    from companion.cli import main

    os.environ.clear()
    os.environ.update(env)
    time.tzset()
    ours, theirs = os.pipe()
    os.dup2(ours, 0)
    with os.fdopen(theirs, "wb") as pipe:  # a pipe takes 64 kB at once, which is more than anybody types
        pipe.write(Path(streams[0]).read_bytes())
    for number, name in enumerate(streams[1:], 1):
        os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT | os.O_APPEND), number)
    # As Python makes them when it starts.
    sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w", 1, errors="backslashreplace")
    sys.argv = ["companion", *words]
    main()


if __name__ == "__main__":
    _serve()
