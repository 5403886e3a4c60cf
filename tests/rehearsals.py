"""Transcripts of rehearsals, with what was truly said marked by whoever wrote them."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from companion.procedure.loading import load_rehearsed
from companion.procedure.model import Procedure
from companion.session.findings import Heard

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "tests" / "data" / "rehearsals"
TUNING = ("development", "second", "third")
HELD_OUT = "held-out"
"""Only for reading figures off."""
SETS = (*TUNING, HELD_OUT)
GAP_MS = 3000
"""Session time given to each utterance where only the text is there."""


@dataclass(frozen=True)
class Spoken:
    """One utterance and the steps it truly says, in order."""

    text: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Transcript:
    name: str
    procedure: str
    speaker: str
    kind: str
    said: tuple[Spoken, ...]
    omitted: tuple[str, ...]

    def heard(self) -> list[Heard]:
        """As if each utterance had been typed."""
        return [
            Heard(text=spoken.text, at_ms=n * GAP_MS, until_ms=n * GAP_MS + GAP_MS - 500, n=n)
            for n, spoken in enumerate(self.said)
        ]

    def truth(self) -> list[str]:
        """Ids of the steps in the order said."""
        return [step for spoken in self.said for step in spoken.steps]


@cache
def procedure(name: str) -> Procedure:
    """As it is rehearsed."""
    return load_rehearsed(ROOT / "procedures" / f"{name}.yaml").procedure


def transcripts(folder: Path) -> Iterator[Transcript]:
    """Every transcript under `folder`. Raises ValueError naming one that contradicts itself or its procedure."""
    for path in sorted(folder.rglob("*.yaml")):
        yield _transcript(path, yaml.safe_load(path.read_text(encoding="utf-8")))


def _transcript(path: Path, body: dict[str, Any]) -> Transcript:
    said = tuple(Spoken(str(item["text"]), tuple(item["steps"])) for item in body["said"])
    found = Transcript(
        str(path.stem), body["procedure"], body["speaker"], body["kind"], said, tuple(body.get("omitted") or ())
    )
    known = {step.id for step in procedure(found.procedure).steps}
    unknown = ({step for spoken in said for step in spoken.steps} | set(found.omitted)) - known
    if unknown:
        raise ValueError(f"{path}: no steps of {found.procedure}: {', '.join(sorted(unknown))}")
    both = set(found.omitted) & set(found.truth())
    if both:
        raise ValueError(f"{path}: both said and omitted: {', '.join(sorted(both))}")
    return found
