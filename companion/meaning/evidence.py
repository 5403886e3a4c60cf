"""What speaks for each step in each utterance of a talk, in marks that no procedure has to itself.

A mark is a name to which `weights` gives a number. All mentions of a step in one utterance are one piece of evidence.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from companion.meaning.mention import Mention
from companion.meaning.rules import BEFORE, PURPOSE

_MOST = 3
_FEW_WORDS, _MANY_WORDS = 4, 14


@dataclass(frozen=True)
class Evidence:
    """One step in one utterance."""

    step: str
    mention: Mention
    """The one that says most; the judgement points to its words."""
    marks: tuple[str, ...]
    crowd: tuple[str, ...]
    """The marks it bears where the utterance has said another step already."""
    grade: str


@dataclass(frozen=True)
class Slot:
    """Words that say one of several steps, or none."""

    choices: tuple[Evidence, ...]
    last: bool
    """Of its utterance."""


def slots(found: Sequence[Mention], known: Mapping[str, int]) -> list[Slot]:
    """The evidence in the order told, for the steps in `known`."""
    all_said: dict[int, dict[str, list[Mention]]] = defaultdict(lambda: defaultdict(list))
    for mention in found:
        for step in mention.steps:
            if step in known:
                all_said[mention.heard.n][step].append(mention)
    said = {n: {step: each for step, each in steps.items() if not _gone(step, each)} for n, steps in all_said.items()}
    best = {n: {step: _best(step, each) for step, each in steps.items()} for n, steps in said.items()}
    strength = {n: {step: _strength(step, mention) for step, mention in steps.items()} for n, steps in best.items()}
    odds = _odds(all_said)
    order = {id(mention): place for place, mention in enumerate(found)}
    made: list[Slot] = []
    for n in sorted(said):
        rows: dict[tuple[tuple[int, int, int], int], list[Evidence]] = defaultdict(list)
        for step, each in said[n].items():
            mention = best[n][step]
            marks = (*_marks(step, n, each, said[n], strength), *_sense_marks(step, n, odds))
            rows[_rank(mention, each), order[id(mention)]].append(
                Evidence(step, mention, marks, _crowd(marks, mention, strength[n][step]), GRADES[strength[n][step]])
            )
        places = sorted(rows)
        made += [Slot(tuple(rows[p]), p == places[-1]) for p in places]
    return made


def _rank(mention: Mention, each: Sequence[Mention]) -> tuple[int, int, int]:
    """Where a step stands in its utterance: at the word that tells it most, where a model that reads says so.

    The words of a way may lie apart, and the first of them belong to another deed as well ("put ..., and put on").
    """
    return next((m.rank for m in each if m.odds is not None and m.odds > 0), mention.rank)


def _gone(step: str, each: Sequence[Mention]) -> bool:
    """Spoken of only in words that do not count: then no likeness counts either."""
    if any(mention.odds is not None for mention in each):
        return False
    void = any(mention.void and mention.void not in _PASSING for mention in each)
    return void and not any(not m.void and not m.faint and m.weights[step] for m in each)


_PASSING = (BEFORE, PURPOSE)
"""These may be told and done in one ("before the injection the hands are rubbed")."""


def _best(step: str, each: Sequence[Mention]) -> Mention:
    return max(each, key=lambda mention: (_strength(step, mention), mention.odds is not None, len(mention.covers)))


def _strength(step: str, mention: Mention) -> int:
    """-1 void, 0 faint, 1 weak, then one more for each group."""
    if mention.void:
        return -1
    if mention.faint:
        return 0
    return 1 + min(mention.weights[step], _MOST)


def _marks(
    step: str,
    n: int,
    each: Sequence[Mention],
    beside: Mapping[str, Sequence[Mention]],
    strength: Mapping[int, Mapping[str, int]],
) -> Iterator[str]:
    mention = _best(step, each)
    own = strength[n][step]
    grade = GRADES[own]
    yield f"void {mention.void}" if mention.void else KINDS[own]
    yield f"{grade} of {min(len(mention.steps), _MOST)}"
    sure = [m for m in each if not m.void and not m.faint and m.weights[step]]
    if len(sure) > 1:
        yield f"sure again {min(len(_union(sure)) - len(mention.covers), 4)}"
    weak = [m for m in each if not m.void and not m.faint and not m.weights[step]]
    if weak and own > 1:
        yield "weak too"
    if own >= 0 and any(m.void for m in each):
        yield "void too"
    yield from (f"telling {faint.telling} {grade}" for faint in each if faint.faint)
    voided = sorted({m.void for m in each if m.void})
    yield from (f"{m.telling} void {void}" for m in each if m.odds is not None for void in voided)
    if mention.taken_back:
        yield f"taken back {grade}"
    mine = _union(m for m in each if m is mention or not m.faint)
    yield f"share {min(4, int(5 * len(mine) / max(1, mention.length)))} {grade}"
    length = "short" if mention.length <= _FEW_WORDS else "long" if mention.length > _MANY_WORDS else "middling"
    yield f"{length} {grade}"
    rivals = [other for other in beside if other not in mention.steps]
    strongest = max((strength[n][other] for other in rivals), default=-2)
    yield f"rival {_against(strongest, own)} {grade}"
    others = [m for s in rivals if strength[n][s] >= max(own, 1) for m in beside[s] if not m.void and not m.faint]
    near = [
        strength[n][other]
        for other in rivals
        if any(not m.clauses.isdisjoint(mention.clauses) for m in beside[other] if not m.void and not m.faint)
    ]
    yield f"clause {_against(max(near, default=-2), own)} {grade}"
    apart = len(mine - _union(others))
    yield f"own words {min(apart, 3)} {grade}"
    elsewhere = max((steps[step] for other, steps in strength.items() if other != n and step in steps), default=-2)
    yield f"elsewhere {_against(elsewhere, own)} {grade}"


Odds = Mapping[int, Mapping[str, float]]
"""Of each step in each utterance, as read."""


def _odds(all_said: Mapping[int, Mapping[str, Sequence[Mention]]]) -> Odds:
    return {
        n: {step: m.odds for step, each in steps.items() for m in each if m.odds is not None}
        for n, steps in all_said.items()
    }


def _sense_marks(step: str, n: int, odds: Odds) -> Iterator[str]:
    """How the odds of a step stand beside those of others there, and its own elsewhere."""
    own = odds[n].get(step)
    if own is None:
        return
    rival = max((each for other, each in odds[n].items() if other != step), default=own - 99)
    elsewhere = max((steps[step] for other, steps in odds.items() if other != n and step in steps), default=own - 99)
    level = "low" if own < -1 else "even" if own < 2 else "high"
    yield f"rival odds {_apart(rival - own)} {level}"
    yield f"odds elsewhere {_apart(elsewhere - own)} {level}"


def _apart(by: float) -> str:
    return "far less" if by < -4 else "less" if by < -1 else "same" if by <= 1 else "more" if by <= 4 else "far more"


def _crowd(marks: Sequence[str], mention: Mention, own: int) -> tuple[str, ...]:
    size = sum(mention.length > most for most in _SIZES)
    clause = next(mark for mark in marks if mark.startswith("clause "))
    return f"second of {size}", f"second in {clause}", f"second of {size} {GRADES[own]}"


_SIZES = (6, 11, 17, 26)

KINDS = ("faint", "weak", "one", "two", "three")
GRADES = {-1: "void", 0: "faint", 1: "weak", 2: "sure", 3: "sure", 4: "sure"}


def _against(other: int, own: int) -> str:
    if other < 1:
        return "none"
    if other == 1:
        return "weak"
    return "less" if other < own else "equal" if other == own else "more"


def _union(each: Iterable[Mention]) -> frozenset[int]:
    return frozenset().union(*(mention.covers for mention in each))
