"""What to practise first, and a summary short enough to be listened to."""

from collections.abc import Iterator, Sequence

from companion.procedure.model import Procedure
from companion.rehearsal.judging.judgeable import some
from companion.session.findings import Finding, Judgement, Kind, Mark
from companion.speech.durations import said
from companion.speech.language import seconds_to_say, tell
from companion.speech.sentences import sentence

MOST = 3
LONGEST_S = 40
"""The summary is cut to fit, whatever there is to practise."""

_RANK: tuple[Kind, ...] = (
    "omitted", "out of order", "wrong value", "not independent", "too short", "hint", "hesitation", "unclear"
)  # fmt: skip


def practise(procedure: Procedure, findings: Sequence[Finding]) -> tuple[str, ...]:
    """At most three sentences, what matters most first: critical before others, one for each step."""
    sentences: dict[str, str] = {}
    for finding in sorted(findings, key=lambda each: (not each.critical, _RANK.index(each.kind))):
        if finding.step not in sentences and len(sentences) < MOST:
            title, because = _lower(finding.title), _because(procedure, finding)
            sentences[finding.step] = tell(procedure.language, f"practise {finding.kind}", title=title, because=because)
    return tuple(sentences.values())


def _because(procedure: Procedure, finding: Finding) -> str:
    if finding.kind == "out of order":
        because = next(a.because for a in procedure.step(finding.step).after if a.step == finding.needed)
        return sentence(because)
    why = finding.effect.split(". ")[0]
    return sentence(_lower(why)) if why else tell(procedure.language, "of the whole")


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def summary(judgement: Judgement, language: str = "en-US") -> str:
    """The spoken summary: what went well first, then what to practise, then what is in doubt. At most `LONGEST_S` long.

    Where not all of it fits, what to practise is cut from its end.
    """
    before, after = [*how_it_went(judgement, language)], [*in_doubt(judgement, language)]
    told = [*([tell(language, "practise first")] if judgement.practise else []), *judgement.practise]
    while told and seconds_to_say(" ".join([*before, *told, *after]), language) > LONGEST_S:
        told.pop()
    kept = [*before, *(told if len(told) > 1 else []), *after]
    report = tell(language, "see the report")
    if judgement.findings and seconds_to_say(" ".join([*kept, report]), language) <= LONGEST_S:
        kept.append(report)
    return " ".join(kept)


def how_it_went(judgement: Judgement, language: str = "en-US") -> Iterator[str]:
    """What went well first, and the outcome."""
    if judgement.not_judged:
        yield sentence(tell(language, "not judged", why=judgement.not_judged))
    yield from _how_much(judgement, language)
    well = went_well(judgement)
    if well and judgement.findings:
        titles = some([_lower(mark.title) for mark in well], language)
        yield tell(language, "one was right" if len(well) == 1 else "were right", count=len(well), titles=titles)
    critical = sum(finding.critical for finding in judgement.findings)
    if judgement.outcome == "passed" and not judgement.findings:
        yield tell(language, "nothing missed")
    elif judgement.outcome == "passed" and not critical:
        yield tell(language, "nothing critical")
    elif judgement.outcome == "passed" and critical:
        yield tell(language, "another look", count=critical)
    elif judgement.undecided:
        yield tell(language, "surely nothing")
    elif critical and judgement.outcome == "not passed":
        yield tell(language, "one to be right" if critical == 1 else "to be right", count=critical)


def _how_much(judgement: Judgement, language: str) -> Iterator[str]:
    done, due = len(judgement.marks), len(judgement.expected) - len(judgement.unrecognisable)
    steps = tell(language, "steps known" if judgement.unrecognisable else "steps", count=due)
    length = judgement.took_ms // 1000
    timed = " in" if length else ""
    if not due:
        return
    if done == due:
        yield tell(language, f"said all{timed}", steps=steps, time=said(length, language))
    elif done:
        yield tell(language, f"said some{timed}", count=done, steps=steps, time=said(length, language))
    elif judgement.outcome == "not passed":
        yield tell(language, "said none", steps=steps)
    else:
        yield tell(language, "heard none", steps=steps)


def went_well(judgement: Judgement) -> tuple[Mark, ...]:
    """The critical steps that were said and of which nothing was found, in the order said."""
    return tuple(mark for mark in judgement.marks if mark.critical and not judgement.of(mark.step))


def in_doubt(judgement: Judgement, language: str = "en-US") -> Iterator[str]:
    """How much is, if anything."""
    doubtful = len(judgement.doubtful)
    if doubtful:
        yield tell(language, "one in doubt" if doubtful == 1 else "in doubt", count=doubtful)
