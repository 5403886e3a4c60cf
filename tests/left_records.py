"""Records as the commands leave them, one of each kind, made by running the commands themselves once for all tests of a
run. What is typed is invented; the talk is that of `tests/data/talkthroughs`."""

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml

from tests.commands import KEYBOARD, companion
from tests.once import once
from tests.waiting import until

PROCEDURE = "hand-hygiene"
IN_DOUBT = "jewelry"
"""The critical step that `rehearsed undecided` perhaps says, in `DOUBTFUL`."""
DOUBTFUL = "rolled above the elbow"
_TALK = Path(__file__).parent / "data" / "talkthroughs" / f"{PROCEDURE}.yaml"
_LIMIT_S = 120.0


def talk(**instead: str | None) -> list[str]:
    """The whole talk, line by line, with other words for some of its steps; None leaves one out."""
    said = [next(iter(line.items())) for line in yaml.safe_load(_TALK.read_text(encoding="utf-8"))["said"]]
    words = [instead.get(step.replace("-", "_"), text) for step, text in said]
    return [text for text in words if text is not None]


def rehearse(home: Path, lines: Sequence[str], *options: str, procedure: str = PROCEDURE) -> Path:
    """The record that `companion rehearse` leaves under `home` when these lines are typed."""
    return _typed(home, ["rehearse", procedure, *options], [*lines, "that is all"])


def _typed(home: Path, command: Sequence[str], lines: Sequence[str], broken_off: bool = False) -> Path:
    """The record of a command to which `lines` are typed. `broken_off`: nothing more is typed and it is killed as soon
    as every line is in the record."""
    folder = home / "records"
    before = set(folder.glob("*.jsonl"))
    words, models = [*command, *KEYBOARD], str(home / "no-models")
    text = "".join(f"{line}\n" for line in lines)
    if not broken_off:
        done = companion(*words, typed=text, home=home, COMPANION_MODELS=models)
        assert done.returncode == 0, done.stdout + done.stderr
        (path,) = set(folder.glob("*.jsonl")) - before
        return path
    with ExitStack() as parts:
        process = parts.enter_context(
            subprocess.Popen(
                [sys.executable, "-m", "companion", *words],
                env={**os.environ, "COMPANION_HOME": str(home), "COMPANION_MODELS": models},
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                text=True,
            )
        )
        parts.callback(process.kill)
        assert process.stdin is not None
        process.stdin.write(text)
        process.stdin.flush()

        def written() -> bool:
            last = f'":"{lines[-1]}"'
            return any(last in path.read_text(encoding="utf-8") for path in set(folder.glob("*.jsonl")) - before)

        until(written, _LIMIT_S)
    (path,) = set(folder.glob("*.jsonl")) - before
    return path


@dataclass(frozen=True)
class LeftRecords:
    """`home` is a user's whole folder: to be read only, or copied by `into`."""

    home: Path
    names: dict[str, str]
    """The file of each record, by its kind."""

    def into(self, home: Path) -> "LeftRecords":
        """A copy of the whole folder, to be changed at will."""
        shutil.copytree(self.home, home, dirs_exist_ok=True)
        return LeftRecords(home, self.names)

    def path(self, kind: str) -> Path:
        """The record of one kind, one of `KINDS`."""
        return self.home / "records" / self.names[kind]


OUTCOMES = {
    "guided signed": "finished",
    "guided abandoned": "abandoned",
    "guided open": "open",
    "rehearsed passed": "passed",
    "rehearsed not passed": "not passed",
    "rehearsed undecided": "undecided",
    "rehearsed not judged": "not judged",
    "rehearsed open": "open",
}
"""The kinds of records, each with its outcome."""

KINDS = tuple(OUTCOMES)
REHEARSED = tuple(kind for kind in KINDS if kind.startswith("rehearsed"))


def left_records(factory: pytest.TempPathFactory, demo: Path) -> LeftRecords:
    """Those of this run; `demo` is the home of the demo, whose record is the signed one."""
    home, said = once(factory, "left-records", lambda home: _make(home, demo))
    return LeftRecords(home, dict(line.split("\t") for line in said.splitlines()))


def _make(home: Path, demo: Path) -> str:
    shutil.copytree(demo, home, dirs_exist_ok=True)
    (signed,) = (home / "records").glob("*.jsonl")
    procedures = home / "procedures"
    procedures.mkdir(exist_ok=True)
    (procedures / "no-ideas.yaml").write_text(_without_ideas(), encoding="utf-8")
    guide, talks = ("guide", PROCEDURE), ("rehearse", PROCEDURE, "--student", "12")
    abandoned = ("41", "exactly right", "stop", "end the session", "exactly right")
    made = {
        "guided signed": signed,
        "guided abandoned": _typed(home, guide, abandoned),
        "guided open": _typed(home, guide, ("41", "exactly right", "standing at it"), broken_off=True),
        "rehearsed passed": rehearse(home, talk(), "--student", "12"),
        "rehearsed not passed": rehearse(home, [*talk()[:11], "hint"], "--student", "13"),
        "rehearsed undecided": rehearse(home, talk(jewelry=DOUBTFUL), "--student", "12"),
        "rehearsed not judged": rehearse(home, talk(), "--student", "12", procedure="no-ideas"),
        "rehearsed open": _typed(home, talks, talk()[:5], broken_off=True),
    }
    return "".join(f"{kind}\t{path.name}\n" for kind, path in made.items())


def _without_ideas() -> str:
    """The same procedure as somebody would write it who knows nothing of ideas."""
    from companion.procedure.loading import find

    body = yaml.safe_load(find(PROCEDURE).read_text(encoding="utf-8"))
    body["id"] = "no-ideas"
    for steps in (body["steps"], *(branch["steps"] for branch in body.get("branches", ()))):
        for step in steps:
            step.pop("ideas", None)
    return yaml.safe_dump(body, sort_keys=False, allow_unicode=True)
