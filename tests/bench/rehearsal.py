"""How well steps are detected in free talk, beside two baselines, with 95 % intervals.

    python -m tests.bench.rehearsal [FOLDER] [--speech N]

FOLDER is a set under tests/data/rehearsals (`development` unless another is named), or any folder of transcripts. All
sets but `held-out` are for tuning, that one is only for reading figures off. `--speech N` also has N transcripts of
each procedure said by flite, clean and in noise at 10 dB, and written down by the real dictation. The model that reads
has to be fetched (`companion models fetch reader`).
"""

import argparse
import hashlib
import random
import tempfile
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from companion.meaning.assign import weights_for
from companion.meaning.doubt import doubts
from companion.meaning.ideas import Ideas, ideas_of
from companion.meaning.mention import Mention
from companion.meaning.mentions import mentions
from companion.meaning.sense import senses
from companion.meaning.sounds import meant
from companion.ports.sound import Samples
from companion.procedure.model import Procedure
from companion.procedure.order import violations
from companion.rehearsal.judging.judge import heeded
from companion.session.findings import Heard
from tests.bench.rehearsal_baselines import keywords, nearest
from tests.bench.rehearsal_reading import Remembered
from tests.rehearsals import FOLDER, SETS, Transcript, procedure, transcripts

PLANTED = 200
KEPT = Path(tempfile.gettempdir()) / "companion-bench-dictation"
Found = Sequence[tuple[str, int]]
"""Steps with the number of the utterance that said them first."""


def interval(hits: int, of: int) -> str:
    """Share and its 95 % interval (Wilson 1927)."""
    if of == 0:
        return "   -"
    z, p = 1.96, hits / of
    middle, spread = (p + z * z / (2 * of)) / (1 + z * z / of), z * ((p * (1 - p) + z * z / (4 * of)) / of) ** 0.5
    spread /= 1 + z * z / of
    return f"{p:.3f} ({max(0.0, middle - spread):.3f} to {min(1.0, middle + spread):.3f}) of {of}"


@dataclass
class Tally:
    """Counted by the step in its very utterance (`placed`), and by the step anywhere in the talk (`found`)."""

    placed: int = 0
    found: int = 0
    given: int = 0
    true: int = 0
    order_right: int = 0
    talks: int = 0
    critical: int = 0
    critical_missed: int = 0
    planted: int = 0
    planted_found: int = 0
    by: dict[str, list[int]] = field(default_factory=lambda: defaultdict(lambda: [0, 0, 0]))

    def add(self, transcript: Transcript, found: Found) -> None:
        plan = procedure(transcript.procedure)
        truth: dict[str, set[int]] = defaultdict(set)
        for n, spoken in enumerate(transcript.said):
            for step in spoken.steps:
                truth[step].add(n)
        first: dict[str, int] = {}
        for step, n in found:
            first.setdefault(step, n)
        placed = sum(n in truth.get(step, ()) for step, n in first.items())
        self.placed += placed
        self.found += sum(step in truth for step in first)
        self.given += len(first)
        self.true += len(truth)
        for key in (transcript.procedure, transcript.kind):
            for place, number in enumerate((placed, len(first), len(truth))):
                self.by[key][place] += number
        self.talks += 1
        self.order_right += late(plan, list(first)) == late(plan, transcript.truth())
        critical = {step.id for step in plan.steps if step.critical} & set(truth)
        self.critical += len(critical)
        self.critical_missed += len(critical - set(first))


def late(plan: Procedure, sequence: Sequence[str]) -> set[tuple[str, str]]:
    """What came before something it must follow; what was never said is an omission, not a matter of order."""
    return {(broken.step, broken.needed) for broken in violations(plan, sequence) if broken.late}


@cache
def ideas(name: str, reads: bool = False) -> Ideas:
    """`reads`: with the model that reads the talk."""
    return ideas_of(procedure(name), reader=Remembered(name) if reads else None)


def all_mentions(of: Ideas, heard: Sequence[Heard], spoken: bool = False) -> list[Mention]:
    words = [m for each in heard for m in mentions(of, each, meant(each.text, of) if spoken else None)]
    return [*words, *senses(of, heard)]


def ours(plan: Procedure, heard: Sequence[Heard], spoken: bool = False, reads: bool = True) -> Found:
    of = ideas(plan.id, reads)
    dictated = range(len(heard)) if spoken else ()
    said = heeded(all_mentions(of, heard, spoken), of, dictated).said
    return [(each.step, each.mention.heard.n) for each in said]


def single_critical(transcript: Transcript) -> list[tuple[str, list[int]]]:
    """Critical steps that can be taken out of a talk with whole utterances, and the numbers of those."""
    where = {
        step.id: [n for n, spoken in enumerate(transcript.said) if step.id in spoken.steps]
        for step in procedure(transcript.procedure).steps
        if step.critical
    }
    return [
        (step, places)
        for step, places in where.items()
        if places and all(transcript.said[n].steps == (step,) for n in places)
    ]


def verdict(of: Ideas, heard: Sequence[Heard], steps: Collection[str]) -> dict[str, str]:
    """What a student is told of each step: `said`, `doubted` or `missed`."""
    found = all_mentions(of, heard)
    said, doubted = heeded(found, of).steps, doubts(found, of.places, steps, weights_for(found))
    return each_told(steps, said, doubted)


def each_told(steps: Iterable[str], said: Collection[str], doubted: Collection[str]) -> dict[str, str]:
    return {step: "doubted" if step in doubted else "said" if step in said else "missed" for step in steps}


def told(all_of_them: Iterable[Transcript], reads: bool) -> tuple[Counter[str], Counter[str]]:
    """What is told of critical steps that were said, and of `PLANTED` taken out of talks that have them, at random."""
    talks = list(all_of_them)
    said: Counter[str] = Counter()
    for transcript in talks:
        critical = {step.id for step in procedure(transcript.procedure).steps if step.critical}
        due = critical & set(transcript.truth())
        said.update(verdict(ideas(transcript.procedure, reads), transcript.heard(), due).values())
    cases = [(transcript, *case) for transcript in talks for case in single_critical(transcript)]
    random.Random(6).shuffle(cases)
    gone: Counter[str] = Counter()
    for transcript, step, where in cases[:PLANTED]:
        rest = [each for n, each in enumerate(transcript.heard()) if n not in where]
        gone.update(verdict(ideas(transcript.procedure, reads), rest, {step}).values())
    return said, gone


def show_told(name: str, said: Counter[str], gone: Counter[str]) -> None:
    print(f"\n{name}: what is told of critical steps")
    whole, out = said.total(), gone.total()
    print(f"  said, told as missed         {interval(said['missed'], whole)}")
    print(f"  said, left in doubt          {interval(said['doubted'], whole)}")
    print(f"  taken out, told as missed    {interval(gone['missed'], out)}")
    print(f"  taken out, left in doubt     {interval(gone['doubted'], out)}")
    print(f"  taken out, told as said      {interval(gone['said'], out)}")


def show(name: str, tally: Tally) -> None:
    print(f"\n{name}: {tally.talks} talks")
    print(f"  recall, in its utterance     {interval(tally.placed, tally.true)}")
    print(f"  precision, in its utterance  {interval(tally.placed, tally.given)}")
    print(f"  recall, anywhere             {interval(tally.found, tally.true)}")
    print(f"  precision, anywhere          {interval(tally.found, tally.given)}")
    print(f"  order broken, exact          {interval(tally.order_right, tally.talks)}")
    print(f"  false critical misses        {interval(tally.critical_missed, tally.critical)}")
    if tally.planted:
        print(f"  critical taken out, found    {interval(tally.planted_found, tally.planted)}")
    for key, (placed, given, true) in sorted(tally.by.items()):
        print(f"    {key:22s} recall {interval(placed, true)}  precision {interval(placed, given)}")


def from_text(all_of_them: Sequence[Transcript]) -> None:
    programs: dict[str, Callable[[Procedure, Sequence[Heard]], Found]] = {
        "ideas and reader": ours,
        "ideas alone": lambda p, h: ours(p, h, reads=False),
        "baseline: keyword search": keywords,
        "baseline: nearest sentence (rapidfuzz)": nearest,
    }
    for name, program in programs.items():
        tally = Tally()
        for transcript in all_of_them:
            tally.add(transcript, program(procedure(transcript.procedure), transcript.heard()))
        show(f"{name}, from text", tally)
    show_told("ideas and reader", *told(all_of_them, True))
    show_told("ideas alone", *told(all_of_them, False))


def written(scorer: Any, sound: Samples) -> str:
    """What the dictation writes, kept by the sound: the voices and the noise are the same each time, and it is slow.

    Delete the folder after a change of the model.
    """
    path = KEPT / f"{hashlib.sha256(sound.tobytes()).hexdigest()[:24]}.txt"
    if not path.is_file():
        KEPT.mkdir(exist_ok=True)
        path.write_text(scorer.dictate(sound).text, encoding="utf-8")
    return path.read_text(encoding="utf-8")


def from_speech(all_of_them: Sequence[Transcript], each: int) -> None:
    from companion.hearing.engines import open_engine
    from tests.bench.hearing_voices import VOICES, say

    scorer = open_engine("scorer", None, "en")
    chosen: dict[str, list[Transcript]] = defaultdict(list)
    shuffled = list(all_of_them)
    random.Random(3).shuffle(shuffled)
    for transcript in shuffled:
        if len(chosen[transcript.procedure]) < each:
            chosen[transcript.procedure].append(transcript)
    programs = {
        "ideas and reader": lambda p, h: ours(p, h, True),
        "ideas alone": lambda p, h: ours(p, h, True, reads=False),
        "baseline: keyword search": keywords,
        "baseline: nearest": nearest,
    }
    for name in ("clean", "noise 10 dB"):
        noise = np.random.default_rng(10)
        tallies = {program: Tally() for program in programs}
        for transcript in (t for group in chosen.values() for t in group):
            heard = []
            for n, spoken in enumerate(transcript.said):
                sound = say(spoken.text, VOICES[(len(transcript.name) + n) % len(VOICES)])
                if name != "clean":
                    level = np.sqrt(np.mean(sound.astype(np.float64) ** 2)) * 10 ** (-10 / 20)
                    mixed = sound + noise.normal(0, level, sound.size)
                    sound = np.clip(mixed, -32768, 32767).astype(np.int16)
                text = written(scorer, sound)
                heard.append(Heard(text=text, at_ms=n * 3000, until_ms=n * 3000 + 2500, n=n))
            for program, run in programs.items():
                tallies[program].add(transcript, run(procedure(transcript.procedure), heard))
        for program, tally in tallies.items():
            show(f"{program}, flite speech through the dictation, {name}", tally)


def main() -> None:
    parser = argparse.ArgumentParser(description="How well steps are detected in free talk, beside two baselines.")
    places = f"{', '.join(SETS)} (under tests/data/rehearsals), or any folder of transcripts"
    parser.add_argument("folder", nargs="?", default=SETS[0], help=f"{places}; {SETS[0]} unless given")
    parser.add_argument("--speech", type=int, default=0, metavar="N", help="also N talks of each procedure, spoken")
    given = parser.parse_args()
    folder = FOLDER / given.folder if (FOLDER / given.folder).is_dir() else Path(given.folder)
    all_of_them = list(transcripts(folder))
    if not all_of_them:
        raise SystemExit(f"{folder}: no transcripts are here; it takes {places}")
    from_text(all_of_them)
    if given.speech:
        from_speech(all_of_them, given.speech)


if __name__ == "__main__":
    main()
