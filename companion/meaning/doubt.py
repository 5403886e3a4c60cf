"""Steps about which a talk leaves doubt: a little more or less evidence, and it would be read the other way.

A student who is told that a step was left out though it was said learns to distrust the tool; one who is not told of
a step left out may leave it out at a bedside. Between the two stands what an examiner would ask about.
"""

import re
from collections.abc import Callable, Collection, Mapping, Sequence

from companion.meaning.assign import best, in_favour
from companion.meaning.evidence import Evidence, Slot, slots
from companion.meaning.mention import Mention
from companion.meaning.words import words

HARDLY_SAID = 2.0
"""Weight that may be taken from a step said before its being said is doubted."""
HARDLY_SAID_SO = 4.0
"""The same where words stand beside it with which deeds are put off or denied."""
HARDLY_MISSED = 2.0
"""Weight that may be given to a step not said before its being left out is doubted.

The three were chosen on the tuning transcripts, each read and weighed by what had learnt from others
(`tests.bench.rehearsal_fit --sensed --check`): of critical steps said 9 in 100 are doubted and 1 in 1,000 is told as
missed; of those taken out of a talk 2 in 1,000 are told as said, of those the speaker left out, often with a reason, 5
in 100.
"""

_PUT_OFF = re.compile(
    r"\b(?:later|afterwards|no need|no time|no idea|nobody|never|supposed to|meant to|ought|should|normally|"
    r"not (?:going|gonna|doing|asking|bother|need|staying)|(?:do|did|does|will|would|could|should|have|has|had) not|"
    r"(?:once|when|if) (?:i|she|he|they|we|it|the|this|that|there)|(?:was|were|been) (?:going|about|intended)|"
    r"was gonna|at the end of|will see|left (?:to|it)|some (?:people|of)|you could)\b"
)
"""In an utterance that says one step only. Many a deed done stands beside such words too; hence doubt, no more."""


def doubts(
    mentions: Sequence[Mention],
    places: Mapping[str, int],
    steps: Collection[str],
    weights: Mapping[str, float],
    dictated: Collection[int] = (),
) -> dict[str, Mention | None]:
    """Those of `steps` that are in doubt, each with the words that may have said it, or None where none are its own.

    `weights` as in `assign.best`.
    """
    rows = slots(mentions, places)
    given = in_favour(dictated)
    reading = best(rows, places, weights, given)
    said = {each.step: each for each in reversed(reading)}
    spoken_of = {choice.step for row in rows for choice in row.choices}
    found: dict[str, Mention | None] = {}
    for step in steps:
        if step not in spoken_of:
            continue
        by = -_may_be_taken(said[step], reading) if step in said else HARDLY_MISSED
        other = {each.step: each for each in reversed(best(rows, places, weights, _more(given, step, by)))}
        if (step in said) != (step in other):
            found[step] = _own_words(step, said.get(step) or other[step], rows, reading, weights)
    return found


def _own_words(
    step: str,
    evidence: Evidence,
    rows: Sequence[Slot],
    reading: Sequence[Evidence],
    weights: Mapping[str, float],
) -> Mention | None:
    """The words to show for a step in doubt: those that were taken to say it; or else words that speak for it, and more
    than for what they were taken to say.

    Shown the words of another step, a student would learn that the tool does not listen.
    """
    if evidence in reading:
        return evidence.mention

    def lead(each: Evidence) -> float:
        taken = [_weight(other, weights) for other in reading if other.mention.heard.n == each.mention.heard.n]
        return _weight(each, weights) - max([0.0, *taken])

    choices = [choice for row in rows for choice in row.choices if choice.step == step and lead(choice) > 0]
    return max(choices, key=lead).mention if choices else None


def _weight(evidence: Evidence, weights: Mapping[str, float]) -> float:
    return sum(weights.get(mark, 0.0) for mark in evidence.marks)


def _may_be_taken(evidence: Evidence, reading: Sequence[Evidence]) -> float:
    heard = evidence.mention.heard
    alone = sum(each.mention.heard.n == heard.n for each in reading) == 1
    text = " ".join(word.text for word in words(heard.text))
    void = any(mark.startswith("void") or " void " in mark for mark in evidence.marks)
    return HARDLY_SAID_SO if void or (alone and _PUT_OFF.search(text)) else HARDLY_SAID


def _more(given: Callable[[Evidence], float], step: str, by: float) -> Callable[[Evidence], float]:
    return lambda evidence: given(evidence) + (by if evidence.step == step else 0.0)
