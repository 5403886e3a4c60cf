"""What readers made of the transcripts, kept on disk: the talks are the same each time, and reading is slow."""

import hashlib
import json
import tempfile
from collections.abc import Sequence
from pathlib import Path

from companion.meaning.likely import Likely
from companion.meaning.reader.fetched import TAUGHT, open_reader
from tests.rehearsals import procedure

KEPT = Path(tempfile.gettempdir()) / "companion-bench-reading"
"""Delete it after a change of the reader's code; what was taught is told apart."""


class Remembered:
    """A `TalkReader`."""

    def __init__(self, procedure_id: str, file: Path = TAUGHT) -> None:
        reader, missing = open_reader(procedure(procedure_id), file)
        if reader is None:
            raise SystemExit(missing or f"{file}: was not taught {procedure_id}")
        self._reader, self._procedure_id, self.name = reader, procedure_id, reader.name

    def read(self, talk: Sequence[str]) -> list[list[Likely]]:
        key = hashlib.sha256(json.dumps([self.name, self._procedure_id, *talk]).encode()).hexdigest()[:24]
        path = KEPT / f"{key}.json"
        if not path.is_file():
            KEPT.mkdir(exist_ok=True)
            found = [[(e.step, round(e.odds, 3), e.at) for e in each] for each in self._reader.read(talk)]
            path.write_text(json.dumps(found), encoding="utf-8")
        return [[Likely(*each) for each in row] for row in json.loads(path.read_text(encoding="utf-8"))]
