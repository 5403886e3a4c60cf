"""Replies to several things that one step asks: `python -m tests.bench.several`.

What a guided session takes at once or asks back together, of the replies in tests/data/replies/measured/several*.tsv.
"""

import sys
from pathlib import Path

from companion.meaning.named import says_no_more
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.meaning.understood import Item, understand_items
from companion.procedure.kinds.identification import IdentificationStep
from companion.speech.speakable import words_of
from tests.procedures.library import NAMES, procedure

MEASURED = Path(__file__).parent.parent / "data" / "replies" / "measured"
_MARKS = {"agrees": "+", "differs": "-"}


def answered(found: list[str | None]) -> str:
    """The marks of what is taken, from the first thing asked on, until one is not answered or differs."""
    marks = ""
    for meaning in found:
        if meaning is None or marks.endswith("-"):
            break
        marks += _MARKS[meaning]
    return marks


def main() -> None:
    """A line for each set."""
    reader, missing = open_reader_of_meanings("en-US")
    if reader is None:
        sys.exit(missing)
    steps = [
        step
        for name in NAMES
        for step in procedure(name).all_steps()
        if isinstance(step, IdentificationStep) and len(step.items) > 1
    ]
    print("| set | replies | answer two or more | at once | wrongly | asked back | wrongly |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for path in sorted(MEASURED.glob("several*.tsv")):
        lines = [line.split("\t") for line in path.read_text("utf-8").splitlines()]
        due = sum("0" not in marks[:2] and marks[0] == "+" for _, marks, _ in lines)
        counts = {True: [0, 0], False: [0, 0]}
        for number, marks, said in lines:
            step = steps[int(number) - 1]
            items = [Item(each.say, each.agrees, each.differs) for each in step.items]
            found = understand_items(step.title, items, said, reader, at_once=False)
            taken = answered([each.meaning for each in found])
            if len(taken) > 1:
                clean = says_no_more(words_of(said).split(), [each.words for each in items])
                counts[clean][0] += 1
                counts[clean][1] += not marks.startswith(taken)
        print(f"| {path.stem} | {len(lines)} | {due} | " + " | ".join(map(str, (*counts[True], *counts[False]))) + " |")


if __name__ == "__main__":
    main()
