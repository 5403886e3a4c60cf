"""Fit what the rehearsal's detection learns from transcripts: words said for each step, and weights of the marks.

    python -m tests.bench.rehearsal_fit [SET ...] [--check]
    python -m tests.bench.rehearsal_fit --sensed SET=FILE [SET=FILE ...] [--check]

The sets under tests/data/rehearsals are all those for tuning unless others are named; never the held-out one.
`--sensed` fits the weights for talks that are read as well: FILE is what `reader_teach` made without that set.
`--check` writes nothing: it leaves out a third of the speakers at a time, fits on the others, and prints how those left
out fare.
"""

import argparse
import json
import random
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path

import companion.meaning
from companion.meaning.assign import best, moves
from companion.meaning.clauses import voids
from companion.meaning.doubt import doubts
from companion.meaning.evidence import Evidence, Slot, slots
from companion.meaning.ideas import Ideas
from companion.meaning.lexicon import OTHER, Lexicon, tokens
from companion.meaning.likely import TalkReader
from companion.meaning.mention import Mention
from companion.meaning.mentions import mentions
from companion.meaning.sense import senses
from companion.meaning.words import words
from tests.bench.rehearsal import Tally, each_told, ideas, interval, show, single_critical
from tests.bench.rehearsal_baselines import keywords, nearest
from tests.bench.rehearsal_reading import Remembered
from tests.rehearsals import FOLDER, TUNING, Transcript, procedure, transcripts

KEPT = Path(companion.meaning.__file__).parent
PARTS = 3
ROUNDS = 6
STEP = 0.3
MARGIN = 1.0
"""By how much the true reading is to be better for each step, half as much again for a critical one let in."""
TAKEN_OUT = 4
"""Critical steps taken out of each talk, one at a time."""
FEWEST = 2
"""Utterances in which a word must stand to be counted at all."""

Counts = dict[str, tuple[int, Counter[str]]]
Speaker = tuple[str, str]


def speaker(transcript: Transcript) -> Speaker:
    return transcript.procedure, transcript.speaker


def counted(talks: Iterable[Transcript]) -> Counts:
    """Of utterances that say one step or none; an utterance of several does not tell which words said which."""
    number: Counter[str] = Counter()
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for transcript in talks:
        for spoken in transcript.said:
            if len(spoken.steps) <= 1:
                step = spoken.steps[0] if spoken.steps else OTHER
                number[step] += 1
                found[step].update(_tokens(spoken.text))
    whole: Counter[str] = sum(found.values(), Counter())
    return {
        step: (number[step], Counter({word: n for word, n in found[step].items() if whole[word] >= FEWEST}))
        for step in number
    }


@cache
def _tokens(text: str) -> frozenset[str]:
    said = words(text)
    return frozenset(tokens(said, voids(said), range(len(said))))


def taught(procedure_id: str, lexicon: Counts | None) -> Ideas:
    kept = Lexicon({step: (n, dict(counts)) for step, (n, counts) in lexicon.items()}) if lexicon else None
    return replace(ideas(procedure_id), lexicon=kept)


@dataclass(frozen=True)
class Talk:
    """A transcript with what its utterances mention, by a lexicon and a reader that its speaker had no part in."""

    transcript: Transcript
    mentions: tuple[tuple[Mention, ...], ...]
    reader: TalkReader | None = None

    def found(self, without: Sequence[int] = ()) -> list[Mention]:
        """All mentions, where some utterances are not said: what is left is read anew."""
        words = [m for n, each in enumerate(self.mentions) if n not in without for m in each]
        heard = [each for n, each in enumerate(self.transcript.heard()) if n not in without]
        return [*words, *senses(replace(ideas(self.transcript.procedure), reader=self.reader), heard)]

    def slots(self, without: Sequence[int] = ()) -> list[Slot]:
        return slots(self.found(without), self.places)

    @cached_property
    def taken_out(self) -> list[tuple[str, list[int]]]:
        """Some critical steps that can be taken out, with their utterances."""
        cases = single_critical(self.transcript)
        random.Random(6).shuffle(cases)
        return cases[:TAKEN_OUT]

    @property
    def places(self) -> Mapping[str, int]:
        return ideas(self.transcript.procedure).places


def gather_read(read: Sequence[Transcript], file: Path) -> list[Talk]:
    """`read` as heard, and as read by a reader that never saw them."""
    readers = {name: Remembered(name, file) for name in {transcript.procedure for transcript in read}}
    return [
        Talk(t, tuple(tuple(mentions(replace(ideas(t.procedure), reader=reader), h)) for h in t.heard()), reader)
        for t in read
        for reader in [readers[t.procedure]]
    ]


def gather(read: Sequence[Transcript], known: Sequence[Transcript]) -> list[Talk]:
    """`read` as heard with the words of `known`, each without those of its own speaker."""
    lexicons = {
        who: taught(who[0], counted(t for t in known if t.procedure == who[0] and speaker(t) != who))
        for who in {speaker(transcript) for transcript in read}
    }
    return [Talk(t, tuple(tuple(mentions(lexicons[speaker(t)], heard)) for heard in t.heard())) for t in read]


def marks(path: Sequence[Evidence], places: Mapping[str, int]) -> Counter[str]:
    """All marks of a reading."""
    found: Counter[str] = Counter()
    last, here, n = -1, 0, -1
    for evidence in path:
        here = here if evidence.mention.heard.n == n else 0
        n = evidence.mention.heard.n
        found.update(evidence.marks)
        found.update(moves(last, places[evidence.step], here, evidence.grade))
        found.update(evidence.crowd if here else ())
        last, here = places[evidence.step], min(2, here + 1)
    return found


def true_reading(transcript: Transcript, rows: Sequence[Slot]) -> list[Evidence]:
    """What should be read, as far as there is evidence of it."""
    right = ([e for e in row.choices if e.step in transcript.said[e.mention.heard.n].steps] for row in rows)
    return [choices[0] for choices in right if choices]


def fit(talks: Sequence[Talk]) -> dict[str, float]:
    """A perceptron over whole readings with a margin (Collins 2002; adaptive steps after Duchi 2011), averaged.

    In every other talk a critical step is taken out, so that what was not said is learnt too.
    """
    chance = random.Random(1)
    weights: dict[str, float] = defaultdict(float)
    squares: dict[str, float] = defaultdict(float)
    total: dict[str, float] = defaultdict(float)
    added = 0
    order = list(talks)
    for number in range(ROUNDS):
        chance.shuffle(order)
        for talk in order:
            out = talk.taken_out
            rows = talk.slots(chance.choice(out)[1] if out and chance.random() < 0.5 else ())
            right = true_reading(talk.transcript, rows)
            read = best(rows, talk.places, weights, _margin(talk.transcript.procedure, right))
            change = marks(right, talk.places)
            change.subtract(marks(read, talk.places))
            for mark, by in change.items():
                squares[mark] += by * by
                weights[mark] += STEP * by / (1 + squares[mark]) ** 0.5
            if number >= ROUNDS // 2:
                added += 1
                for mark, weight in weights.items():
                    total[mark] += weight
    return {mark: round(weight / added, 3) for mark, weight in sorted(total.items())}


def _margin(name: str, right: Sequence[Evidence]) -> Callable[[Evidence], float]:
    said = {(each.mention.heard.n, each.step) for each in right}
    critical = {step.id for step in procedure(name).steps if step.critical}

    def bonus(evidence: Evidence) -> float:
        if (evidence.mention.heard.n, evidence.step) in said:
            return -MARGIN
        return 1.5 * MARGIN if evidence.step in critical else MARGIN

    return bonus


def measure(talks: Sequence[Talk], weights: Mapping[str, float], tally: Tally) -> None:
    for talk in talks:
        found = best(talk.slots(), talk.places, weights)
        tally.add(talk.transcript, [(each.step, each.mention.heard.n) for each in found])
        for step, where in talk.taken_out:
            rest = best(talk.slots(where), talk.places, weights)
            tally.planted += 1
            tally.planted_found += step not in {each.step for each in rest}


def check(read: Sequence[Transcript], talks: Sequence[Talk] = ()) -> None:
    """`talks` are those that have been read; without them the lexicons are counted anew for each part."""
    people = sorted({speaker(transcript) for transcript in read})
    random.Random(7).shuffle(people)
    tally, told = Tally(), defaultdict[str, Counter[str]](Counter)
    for part in range(PARTS):
        left_out = set(people[part::PARTS])
        known = [t for t in read if speaker(t) not in left_out]
        others = [talk for talk in talks if speaker(talk.transcript) not in left_out] or gather(known, known)
        own = [talk for talk in talks if speaker(talk.transcript) in left_out]
        own = own or gather([t for t in read if speaker(t) in left_out], known)
        weights = fit(others)
        measure(own, weights, tally)
        for talk in own if talks else ():
            doubt(talk, weights, told)
    show("speakers left out, from text", tally)
    for kind, found in told.items():
        shares = ", ".join(f"{what} {interval(number, found.total())}" for what, number in sorted(found.items()))
        print(f"  critical steps {kind}: {shares}")
    compare(read)


def doubt(talk: Talk, weights: Mapping[str, float], told: Mapping[str, Counter[str]]) -> None:
    """Count what is told of the critical steps that were said, that the speaker left out, and that are taken out."""
    critical = {step.id for step in procedure(talk.transcript.procedure).steps if step.critical}
    due = set(talk.transcript.truth())
    cases = [(critical & due, "said", ()), (critical - due, "left out by the speaker", ())]
    for steps, kind, without in [*cases, *(({step}, "taken out", where) for step, where in talk.taken_out)]:
        found = talk.found(without)
        said = {each.step for each in best(slots(found, talk.places), talk.places, weights)}
        doubted = doubts(found, talk.places, steps, weights)
        told[kind].update(each_told(steps, said, doubted).values())


def compare(read: Sequence[Transcript]) -> None:
    """The baselines, which learn nothing."""
    for name, program in {"keyword search": keywords, "nearest sentence (rapidfuzz)": nearest}.items():
        tally = Tally()
        for transcript in read:
            tally.add(transcript, program(procedure(transcript.procedure), transcript.heard()))
        show(f"baseline: {name}, from text", tally)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("sets", nargs="*", default=list(TUNING))
    parser.add_argument("--sensed", action="store_true", help="the sets are SET=FILE: a reader that never saw the set")
    parser.add_argument("--check", action="store_true")
    given = parser.parse_args()
    if given.sensed:
        sensed(dict(each.split("=", 1) for each in given.sets), given.check)
        return
    read = [transcript for name in given.sets for transcript in transcripts(FOLDER / name)]
    if given.check:
        check(read)
        return
    for name in sorted({transcript.procedure for transcript in read}):
        counts = counted(t for t in read if t.procedure == name)
        lines = [
            f"{json.dumps(step)}: {json.dumps([n, dict(sorted(found.items()))])}"
            for step, (n, found) in sorted(counts.items())
        ]
        (KEPT / "lexicons" / f"{name}.json").write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")
    keep(fit(gather(read, read)), "weights.json")


def sensed(files: Mapping[str, str], checks: bool) -> None:
    talks = [t for name, file in files.items() for t in gather_read(list(transcripts(FOLDER / name)), Path(file))]
    if checks:
        check([talk.transcript for talk in talks], talks)
    else:
        keep(fit(talks), "weights-sensed.json")


def keep(weights: Mapping[str, float], name: str) -> None:
    kept = {mark: weight for mark, weight in weights.items() if weight}
    (KEPT / name).write_text(json.dumps(kept, indent=0) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
