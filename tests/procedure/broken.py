"""Writes the files with faults that `tests/data/broken.yaml` lists, each an edit of the one whole file."""

from pathlib import Path
from typing import TypedDict

import yaml

DATA = Path(__file__).parents[1] / "data"
WHOLE = DATA / "whole.yaml"


class Broken(TypedDict):
    put: dict[str, str]
    faults: list[tuple[int, str, str]]


BROKEN: dict[str, Broken] = yaml.safe_load((DATA / "broken.yaml").read_text(encoding="utf-8"))


def broken(name: str, folder: Path) -> Path:
    """The file of that name, written into a folder."""
    text = "" if name == "empty" else WHOLE.read_text(encoding="utf-8")
    for old, new in BROKEN[name]["put"].items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = folder / f"{name}.yaml"
    path.write_text(text, encoding="latin-1" if name == "latin-1" else "utf-8")
    return path
