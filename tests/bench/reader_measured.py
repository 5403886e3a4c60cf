"""`python -m tests.bench.reader_measured OUT`: what is only measured, and every talk, as pairs.

Each row also tells where it is from (`set`, `talk`, `n`, `names`, `critical`), so that odds can be counted.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path

from companion.meaning.question import BESIDE, told
from tests.bench.reader_pairs import Pair, steps_of, steps_written
from tests.bench.replies import all_written, none_as
from tests.rehearsals import FOLDER, ROOT, SETS, procedure, transcripts


def replies() -> Iterator[Pair]:
    """Every reply of the measured writers, with all that may be meant there."""
    for of in all_written("measured"):
        for ask in of.asks.values():
            for meaning, words in ask.said:
                right, whole = none_as(meaning) or meaning, [*ask.meanings, *BESIDE]
                yield {
                    "said": words,
                    "asked": [told(ask.prompt, name, ask.meanings.get(name, ())) for name in whole],
                    "right": [int(name == right) for name in whole],
                    **{"procedure": of.procedure, "writer": of.writer, "set": "replies", "n": len(ask.meanings)},
                    **{"names": list(ask.meanings), "meaning": meaning, "critical": ask.critical, "one": True},
                }


def talks() -> Iterator[Pair]:
    """Every utterance of every talk of a procedure that is there, beside all its steps."""
    known = {path.stem for path in (ROOT / "procedures").glob("*.yaml")}
    for kind in ("taught", "measured"):
        for of in all_written(kind):
            steps = steps_of(procedure(of.procedure)) if of.procedure in known else steps_written(of)
            for talk in of.talks:
                for n, (names, words) in enumerate(talk.said):
                    yield _utterance(steps, names, words, of.procedure, of.writer, f"{of.writer} {talk.name}", n, kind)
    for name in SETS:
        for each in transcripts(FOLDER / name):
            steps = steps_of(procedure(each.procedure))
            for n, spoken in enumerate(each.said):
                yield _utterance(
                    steps, list(spoken.steps), spoken.text, each.procedure, each.speaker, f"{name} {each.name}", n, name
                )


def _utterance(
    steps: dict[str, str], names: list[str], words: str, of: str, writer: str, talk: str, n: int, kind: str
) -> Pair:
    return {
        **{"said": words, "asked": list(steps.values()), "right": [int(name in names) for name in steps], "one": False},
        **{"procedure": of, "writer": writer, "set": f"talk {kind}", "talk": talk, "n": n, "names": list(steps)},
    }


def main() -> None:
    """Write them to the path given."""
    with Path(sys.argv[1]).open("w", encoding="utf-8") as out:
        for row in (*replies(), *talks()):
            out.write(json.dumps(row, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
