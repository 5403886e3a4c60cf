"""What to practise first, and a summary short enough to be listened to."""

from collections.abc import Iterator, Sequence

from companion.procedure.model import Procedure
from companion.session.findings import Finding, Judgement, Kind, Mark
from companion.speech.durations import said
from companion.speech.sentences import sentence

MOST = 3
_NAMED = 3
"""Steps named in praise; the others are counted."""
LONGEST_S = 40
WORDS_PER_S = 2.3
"""About 140 words a minute: a slow voice for prompts (common practice). The summary is cut to fit `LONGEST_S`."""

_REPORT = "The report shows the words and the times. If something was misheard, say so to your educator."
_RANK: tuple[Kind, ...] = (
    "omitted", "out of order", "wrong value", "not independent", "too short", "hint", "hesitation", "unclear"
)  # fmt: skip
_ADVICE = {
    "omitted": "Say {title} aloud every time",
    "out of order": "Practise what comes before {title}",
    "wrong value": "Read the figure for {title} twice before you say it",
    "not independent": "Let the second person work alone at {title}",
    "too short": "Give {title} its whole time",
    "hint": "Go over {title} once more with the headings",
    "hesitation": "Go over {title} until it comes without a pause",
    "unclear": "Say {title} in plainer words",
}


def practise(procedure: Procedure, findings: Sequence[Finding]) -> tuple[str, ...]:
    """At most three sentences, what matters most first: critical before others, one for each step."""
    sentences: dict[str, str] = {}
    for finding in sorted(findings, key=lambda each: (not each.critical, _RANK.index(each.kind))):
        if finding.step not in sentences and len(sentences) < MOST:
            advice = _ADVICE[finding.kind].format(title=_lower(finding.title))
            sentences[finding.step] = f"{advice}: {_because(procedure, finding)}"
    return tuple(sentences.values())


def _because(procedure: Procedure, finding: Finding) -> str:
    if finding.kind == "out of order":
        because = next(a.because for a in procedure.step(finding.step).after if a.step == finding.needed)
        return sentence(because)
    why = finding.effect.split(". ")[0]
    return sentence(_lower(why)) if why else "it is part of the whole."


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def summary(judgement: Judgement) -> str:
    """The spoken summary: what went well first, then what to practise, then what is in doubt. At most `LONGEST_S` long.

    Where not all of it fits, what to practise is cut from its end.
    """
    before, after = [*how_it_went(judgement)], [*in_doubt(judgement)]
    told = [*(["To practise first."] if judgement.practise else []), *judgement.practise]
    while told and seconds(" ".join([*before, *told, *after])) > LONGEST_S:
        told.pop()
    kept = [*before, *(told if len(told) > 1 else []), *after]
    if judgement.findings and seconds(" ".join([*kept, _REPORT])) <= LONGEST_S:
        kept.append(_REPORT)
    return " ".join(kept)


def seconds(text: str) -> float:
    """How long a slow voice takes."""
    return len(text.split()) / WORDS_PER_S


def how_it_went(judgement: Judgement) -> Iterator[str]:
    """What went well first, and the outcome."""
    if judgement.not_judged:
        yield sentence(f"This rehearsal is not judged: {judgement.not_judged}")
    yield from _how_much(judgement)
    well = went_well(judgement)
    if well and judgement.findings:
        more = len(well) - _NAMED
        titles = ", ".join(_lower(mark.title) for mark in well[:_NAMED]) + (f" and {more} more" if more > 0 else "")
        were = "One critical step was as it should be" if len(well) == 1 else f"{len(well)} critical steps were right"
        yield f"{were}: {titles}."
    critical = [finding for finding in judgement.findings if finding.critical]
    if judgement.outcome == "passed" and not judgement.findings:
        yield "Nothing was missed, and everything was in order. Well done."
    elif judgement.outcome == "passed" and not critical:
        yield "Nothing critical was missed. Well done."
    elif judgement.outcome == "passed" and critical:
        yield f"{len(critical)} critical points need another look."
    elif judgement.undecided:
        yield "Nothing critical was surely missed."
    elif critical and judgement.outcome == "not passed":
        number = "One critical point has" if len(critical) == 1 else f"{len(critical)} critical points have"
        yield f"{number} to be right before this counts as passed."


def _how_much(judgement: Judgement) -> Iterator[str]:
    done, due = len(judgement.marks), len(judgement.expected) - len(judgement.unrecognisable)
    steps = f"{due} steps that can be recognised" if judgement.unrecognisable else f"{due} steps"
    length = judgement.took_ms // 1000
    took = f", in {said(length)}" if length else ""
    if not due:
        return
    if done == due:
        yield f"You said all {steps}{took}."
    elif done:
        yield f"You said {done} of {steps}{took}."
    elif judgement.outcome == "not passed":
        yield f"You said none of the {steps}, so this is not passed."
    else:
        yield f"Surely heard was none of the {steps}."


def went_well(judgement: Judgement) -> tuple[Mark, ...]:
    """The critical steps that were said and of which nothing was found, in the order said."""
    return tuple(mark for mark in judgement.marks if mark.critical and not judgement.of(mark.step))


def in_doubt(judgement: Judgement) -> Iterator[str]:
    """How much is, if anything."""
    doubtful = len(judgement.doubtful)
    if doubtful:
        points = "One point was" if doubtful == 1 else f"{doubtful} points were"
        yield f"{points} not surely heard, and your educator decides."
