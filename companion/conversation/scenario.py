"""A scenario: who says what at which step, as sound files. It plays the people in a demo or a test."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TypeVar

import yaml
from pydantic import AwareDatetime, BaseModel, Field, ValidationError

from companion.errors import UsageError
from companion.hearing.files import read_sound
from companion.machine.machine import Machine
from companion.plainfiles import read_plain
from companion.ports.sound import Samples
from companion.session.state import State
from companion.speech.values import Frozen

MOST_SILENT = 100
"""Nor does anything come of it where nobody has said a word at so many turns in a row; a wait takes a few."""

LARGEST = 1024 * 1024
"""Bytes of the file itself."""

MOST_REPLAYS = 6
"""A reply that is still not understood after so many tries ends the scenario: something is wrong."""


class Line(Frozen):
    """Something said: `text` in `voice`, `after` that many seconds of silence. Without text, nothing is said."""

    text: str
    voice: str = Field(min_length=1)
    after: int = Field(default=0, ge=0, le=600)

    def file_name(self) -> str:
        """Name of its sound file beside the scenario."""
        words = "-".join("".join(c for c in word if c.isalnum()) for word in self.text.lower().split())
        return f"{self.voice}-{words}.flac"


class Cue(Frozen):
    """What is said `at` a step (`step-id`, or `step-id/phase`, or a status such as `held`), in turn;
    the last line is said again as often as it is needed."""

    at: str
    lines: tuple[Line, ...] = Field(min_length=1)


class Scenario(Frozen):
    """A whole session's replies."""

    scenario: str
    about: str
    procedure: str
    """Its name in the library, or the path of its file from the scenario's folder."""
    start: AwareDatetime
    cues: tuple[Cue, ...]

    def lines(self) -> Iterator[Line]:
        """All that have a sound."""
        for cue in self.cues:
            yield from (line for line in cue.lines if line.text)


M = TypeVar("M", bound=BaseModel)


def load_scenario(path: Path) -> Scenario:
    """Raises UsageError, naming the file and what is wrong."""
    return read_model(path, Scenario, "scenario")


def read_model(path: Path, kind: type[M], noun: str) -> M:
    """A YAML file as a model of `kind`. Raises UsageError, naming the file, the `noun` for it and what is wrong."""
    try:
        text = read_plain(path, LARGEST, links=True).decode("utf-8")
        return kind.model_validate(yaml.safe_load(text))
    except OSError as fault:
        raise UsageError(f"{path}: the {noun} cannot be read ({fault.strerror})") from fault
    except UnicodeDecodeError as fault:
        raise UsageError(f"{path}: the {noun} is not text; UTF-8 is accepted") from fault
    except yaml.YAMLError as fault:
        raise UsageError(f"{path}: not YAML: {' '.join(str(fault).split())}") from fault
    except RecursionError as fault:
        raise UsageError(f"{path}: the {noun} is nested too deeply; a few levels are accepted") from fault
    except ValidationError as fault:
        first = fault.errors()[0]
        if not first["loc"]:
            keys = ", ".join(name for name, each in kind.model_fields.items() if each.is_required())
            raise UsageError(f"{path}: the {noun} holds no keys; accepted: a mapping with {keys}") from fault
        raise UsageError(f"{path}: {'.'.join(map(str, first['loc']))}: {first['msg']}") from fault
    except ValueError as fault:  # a date there is not, a number of thousands of figures
        raise UsageError(f"{path}: the {noun} holds a value that cannot be read: {fault}") from fault


class Players:
    """Hands out the next line each time it is the performer's turn."""

    def __init__(self, scenario: Scenario, machine: Machine) -> None:
        self._machine = machine
        self._cues: Mapping[str, list[Line]] = {cue.at: list(cue.lines) for cue in scenario.cues}
        self._again: dict[str, int] = {}
        self._silent = 0

    def next(self, state: State) -> Line | None:
        """What is said now, or None where the scenario has no words. Raises UsageError when one reply has to be
        said too often, or nobody says anything any more."""
        said = None
        for key in self._keys(state):
            lines = self._cues.get(key)
            if lines:
                said = self._take(key, state, lines)
                break
        self._silent = 0 if said is not None and said.text else self._silent + 1
        if self._silent > MOST_SILENT:
            step = self._machine.current(state)
            raise UsageError(
                f"the scenario stopped (at {step.id if step else state.status}): nobody says anything more"
            )
        return said

    def _take(self, key: str, state: State, lines: list[Line]) -> Line:
        if len(lines) > 1:
            return lines.pop(0)
        step = self._machine.current(state)
        where = f"{key} at {step.id if step else state.status}"
        if not lines[0].text:
            return lines[0]
        self._again[where] = self._again.get(where, 0) + 1
        if self._again[where] > MOST_REPLAYS:
            raise UsageError(f"the scenario stopped ({where}): the reply `{lines[0].text}` is never taken")
        return lines[0]

    def _keys(self, state: State) -> tuple[str, ...]:
        step = self._machine.current(state)
        if state.status != "running" or step is None:
            return (f"{state.status}/{state.here.phase}", state.status)
        return (f"{step.id}/{state.here.item}", f"{step.id}/{state.here.phase}", state.here.phase, step.id)


def sounds(scenario: Scenario, folder: Path) -> Mapping[str, Samples]:
    """The sound of every line, by file name, from `folder`. Raises HearingError for one that is missing or damaged."""
    return {name: read_sound(folder / name) for name in {line.file_name() for line in scenario.lines()}}
