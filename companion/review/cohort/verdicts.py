"""What became of each rehearsal in the base, with what educators decided since."""

import json
from collections.abc import Collection, Iterator
from pathlib import Path

from companion.plainfiles import read_plain
from companion.record.chain import LARGEST
from companion.review.cohort.base import Base
from companion.review.marks import ItemMark, Marks
from companion.review.told import REHEARSED
from companion.review.verdict import judged
from companion.session.findings import Judgement, judgement_from_json


def judge_rehearsals(base: Base, names: Collection[str]) -> None:
    """What became of the rehearsals among `names`, by their last judgement and what educators decided since."""
    base.run("DELETE FROM doubts WHERE list_contains(?, file)", [list(names)])
    query = "SELECT file FROM sessions WHERE way = ? AND list_contains(?, file)"
    for (name,) in base.rows(query, [REHEARSED, list(names)]):
        try:
            judgement = _last_judgement(base.folder / name)
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            reason = "what it was judged to be cannot be read, so it counts as not ended"
            base.run("UPDATE files SET fault = ? WHERE file = ?", [reason, name])
            continue
        if judgement is None:
            continue
        found = judged(judgement, _decisions(base, name))
        base.run("UPDATE sessions SET outcome = ? WHERE file = ?", [found.outcome, name])
        base.fill("doubts", [(name, doubt.step, doubt.settled or "") for doubt in found.doubts])


def _last_judgement(path: Path) -> Judgement | None:
    """Of a record that is not verified here. Raises OSError, and what comes of a line that is no such entry."""
    lines = [line for line in read_plain(path, LARGEST).splitlines() if b'"kind":"judged"' in line]
    return judgement_from_json(json.loads(lines[-1])["body"]) if lines else None


def _decisions(base: Base, name: str) -> Iterator[Marks]:
    """What the markers whose key is known decided of one session."""
    found: dict[str, list[ItemMark]] = {}
    query = (
        "SELECT marker, step, decision FROM items JOIN marks USING (file, marker) "
        "WHERE file = ? AND known AND fault = '' AND decision <> ''"
    )
    for marker, step, decision in base.rows(query, [name]):
        found.setdefault(marker, []).append(ItemMark(step=step, decision=decision))
    return (Marks(marker=marker, items=tuple(items)) for marker, items in found.items())
