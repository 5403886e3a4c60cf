"""What to practise first, and a summary short enough to be listened to."""

from collections.abc import Iterator, Sequence

from companion.core.durations import said
from companion.core.findings import Finding, Judgement, Kind
from companion.core.procedure import Procedure

MOST = 3
LONGEST_S = 40
WORDS_PER_S = 2.3
"""About 140 words a minute: a slow voice for prompts (common practice). The summary is cut to fit `LONGEST_S`."""

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
        return f"{because}."
    why = finding.effect.split(". ")[0].rstrip(".")
    return f"{_lower(why)}." if why else "it is part of the whole."


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def summary(judgement: Judgement) -> str:
    """The spoken summary: what went well first, then what to practise. At most `LONGEST_S` seconds long."""
    kept: list[str] = []
    for sentence in _sentences(judgement):
        if seconds(" ".join([*kept, sentence])) <= LONGEST_S:
            kept.append(sentence)
    return " ".join(kept)


def seconds(text: str) -> float:
    """How long a slow voice takes."""
    return len(text.split()) / WORDS_PER_S


def _sentences(judgement: Judgement) -> Iterator[str]:
    done, due = len(judgement.marks), len(judgement.expected)
    length = judgement.took_ms // 1000
    took = f", in {said(length)}" if length else ""
    if done == due:
        yield f"You said all {due} steps{took}."
    else:
        yield f"You said {done} of {due} steps{took}."
    critical = [finding for finding in judgement.findings if finding.critical]
    doubtful = len(judgement.doubtful)
    if not judgement.findings:
        yield "Nothing was missed, and everything was in order. Well done."
    elif not critical and doubtful:
        yield "Nothing critical was surely missed."
    elif not critical:
        yield "Nothing critical was missed. Well done."
    elif judgement.passed:
        yield f"{len(critical)} critical points need another look."
    else:
        number = "One critical point has" if len(critical) == 1 else f"{len(critical)} critical points have"
        yield f"{number} to be right before this counts as passed."
    if doubtful:
        points = "One critical point was" if doubtful == 1 else f"{doubtful} critical points were"
        yield f"{points} not surely heard, and your educator decides."
    if judgement.practise:
        yield "To practise first."
        yield from judgement.practise
    if judgement.findings:
        yield "The report shows the words and the times. If something was misheard, say so to your educator."
