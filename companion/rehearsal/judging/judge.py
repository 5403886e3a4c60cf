"""Judging a rehearsal. Pure: from what was said and when to findings, each with the words it rests on."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from companion.meaning.assign import Said, assign, weights_for
from companion.meaning.doubt import doubts
from companion.meaning.ideas import Ideas, ideas_of
from companion.meaning.likely import TalkReader
from companion.meaning.mention import Mention
from companion.meaning.mentions import mentions, unheeded
from companion.meaning.sense import senses
from companion.procedure.model import Procedure
from companion.procedure.order import violations
from companion.procedure.steps import Step
from companion.rehearsal.judging.checks import checks
from companion.rehearsal.judging.debrief import practise
from companion.rehearsal.judging.expected import expected_steps, surely_due
from companion.rehearsal.judging.judgeable import unrecognisable, why_not_judged
from companion.rehearsal.judging.spoken import seconds_in
from companion.rehearsal.judging.values import wrong_values
from companion.session.findings import Finding, Heard, Judgement, Mark
from companion.speech.durations import said as duration
from companion.speech.language import tell
from companion.speech.sentences import sentence

HESITATION_MS = 10_000
"""Silence before a step that is told as a hesitation, unless the rules say otherwise."""


@dataclass(frozen=True)
class Hint:
    """Help that was asked for, about the step that was then due."""

    step: str
    at_ms: int


@dataclass(frozen=True)
class Rules:
    """What the educator decides."""

    help: Literal["full", "headings", "none"] = "none"
    only: tuple[str, ...] = ()
    """Steps that are rehearsed; empty for all."""
    must_pass: bool = True
    """Whether one critical finding fails the rehearsal."""
    hesitation_ms: int = HESITATION_MS
    values: Mapping[str, str] = field(default_factory=dict)
    """What is right in this case, by step: a plain number or a choice."""


@dataclass(frozen=True)
class Heeded:
    """What a rehearsal amounts to so far: the steps said, each with its first mention, in the order said."""

    said: tuple[Said, ...]

    @property
    def steps(self) -> tuple[str, ...]:
        return tuple(each.step for each in self.said)


def heeded(found: Sequence[Mention], ideas: Ideas, dictated: Collection[int] = ()) -> Heeded:
    """The steps that a talk says; what is said later may settle what an earlier mention meant.

    `found` are all its mentions, by words (`mentions`) and as read (`senses`); `dictated` the utterances not typed.
    """
    first: dict[str, Said] = {}
    for each in assign(found, ideas.places, dictated):
        first.setdefault(each.step, each)
    return Heeded(tuple(first.values()))


def judge(
    procedure: Procedure,
    heard: Sequence[Heard],
    rules: Rules,
    *,
    took_ms: int,
    hints: Sequence[Hint] = (),
    performer: str = "",
    sounds: Mapping[str, str] | None = None,
    reader: TalkReader | None = None,
    dictated: Collection[int] = (),
) -> Judgement:
    """The judgement on everything heard. `sounds` gives the stems meant by words that were misheard; `dictated` are the
    utterances that were spoken, not typed.
    """
    ideas = ideas_of(procedure, rules.only, reader)
    expected = expected_steps(procedure, rules.only, rules.values)
    found = [mention for each in heard for mention in mentions(ideas, each, sounds)] + senses(ideas, heard)
    critical = [name for name in expected if procedure.step(name).critical]
    doubtful = doubts(found, ideas.places, critical, weights_for(found), dictated)
    said = heeded(found, ideas, dictated).said
    kept = tuple(each for each in said if each.step in expected and each.step not in doubtful)
    sure = surely_due(procedure, expected, kept, rules.values)
    expected = tuple(sure)
    kept = tuple(each for each in kept if each.step in sure)
    unknown = unrecognisable(expected, ideas.ways)
    not_judged = why_not_judged(procedure, expected, unknown)
    doubtful = {name: each for name, each in doubtful.items() if sure.get(name)}
    findings = [
        *_doubtful(procedure, doubtful),
        *_unrecognisable(procedure, unknown),
        *_omitted(procedure, ideas, heard, sure, [name for name in expected if name not in doubtful], kept, sounds),
        *_order(procedure, kept),
        *_waits(procedure, heard, kept, dictated),
        *wrong_values(procedure, kept, rules.values),
        *checks(procedure, kept),
        *_hints(procedure, hints),
        *_hesitations(procedure, heard, kept, rules.hesitation_ms, dictated),
    ]
    ordered = tuple(
        sorted(findings, key=lambda finding: (not finding.critical, finding.kind in ("hint", "hesitation")))
    )
    return Judgement(
        help=rules.help,
        only=rules.only,
        performer=performer,
        must_pass=rules.must_pass,
        passed=bool(kept)
        and not not_judged
        and not (
            rules.must_pass
            and any(finding.critical or _holds_back(procedure, finding, unknown) for finding in findings)
        ),
        not_judged=not_judged,
        unrecognisable=unknown,
        marks=tuple(_mark(procedure.step(each.step), each.mention) for each in kept),
        findings=ordered,
        expected=expected,
        took_ms=took_ms,
        practise=practise(procedure, [finding for finding in ordered if finding.step not in unknown]),
    )


def _holds_back(procedure: Procedure, finding: Finding, unknown: Collection[str]) -> bool:
    """In doubt about a critical step."""
    return finding.kind == "unclear" and finding.step not in unknown and procedure.step(finding.step).critical


def _mark(step: Step, mention: Mention) -> Mark:
    return Mark(step=step.id, title=step.title, critical=step.critical, heard=mention.heard, at_ms=mention.at_ms)


def _why(step: Step) -> str:
    return step.reason or step.caution or ""


def _doubtful(procedure: Procedure, doubtful: Mapping[str, Mention | None]) -> Iterator[Finding]:
    for name, mention in doubtful.items():
        step = procedure.step(name)
        where = "perhaps these words" if mention is not None else "perhaps other words"
        yield Finding(
            kind="unclear",
            step=name,
            title=step.title,
            reason=tell(procedure.language, where, title=step.title),
            effect=_why(step),
            heard=() if mention is None else (mention.heard,),
            at_ms=None if mention is None else mention.at_ms,
        )


def _unrecognisable(procedure: Procedure, unknown: Sequence[str]) -> Iterator[Finding]:
    for name in unknown:
        title = procedure.step(name).title
        reason = tell(procedure.language, "no ideas of it", title=title)
        yield Finding(kind="unclear", step=name, title=title, reason=reason)


def _omitted(
    procedure: Procedure,
    ideas: Ideas,
    heard: Sequence[Heard],
    sure: Mapping[str, bool],
    expected: Sequence[str],
    kept: Sequence[Said],
    sounds: Mapping[str, str] | None,
) -> Iterator[Finding]:
    gone = [name for name in expected if name in ideas.ways and name not in {each.step for each in kept}]
    spoken_of = {name: (each, why) for each in heard for name, why in unheeded(ideas, each, gone, sounds).items()}
    for name in gone:
        step = procedure.step(name)
        why = "not said"
        words_heard: tuple[Heard, ...] = ()
        if name in spoken_of:
            each, why = spoken_of[name]
            words_heard = (each,)
        yield Finding(
            kind="omitted",
            step=name,
            title=step.title,
            critical=step.critical and sure[name],
            reason=tell(procedure.language, why, title=step.title),
            effect=_why(step),
            heard=words_heard,
            at_ms=words_heard[0].at_ms if words_heard else None,
        )


def _order(procedure: Procedure, kept: Sequence[Said]) -> Iterator[Finding]:
    by_step = {each.step: each.mention for each in kept}
    for broken in violations(procedure, [each.step for each in kept]):
        if broken.late:
            step, needed = procedure.step(broken.step), procedure.step(broken.needed)
            titles = {"title": step.title, "needed": needed.title}
            yield Finding(
                kind="out of order",
                step=step.id,
                title=step.title,
                critical=step.critical and needed.critical,
                reason=sentence(tell(procedure.language, "came before", **titles, because=broken.because)),
                effect=_why(needed) or _why(step),
                needed=needed.id,
                heard=(by_step[step.id].heard, by_step[needed.id].heard),
                at_ms=by_step[step.id].at_ms,
            )


def _waits(
    procedure: Procedure, heard: Sequence[Heard], kept: Sequence[Said], dictated: Collection[int]
) -> Iterator[Finding]:
    """A wait counts when its time was said, or really passed before the next words; who types is not told to wait."""
    language = procedure.language
    for each in kept:
        step = procedure.step(each.step)
        if not step.shortest:
            continue
        told = seconds_in(each.mention.heard.text)
        later = [other.at_ms for other in heard if other.n > each.mention.heard.n]
        passed = (min(later) - each.mention.at_ms) // 1000 if later else 0
        if (told or 0) >= step.shortest or passed >= step.shortest:
            continue
        key = "neither passed" if each.mention.heard.n in dictated else "time not told"
        yield Finding(
            kind="too short",
            step=step.id,
            title=step.title,
            critical=step.critical and told is not None,
            reason=tell(
                language,
                key if told is None else "less said",
                title=step.title,
                told=duration(told or 0, language),
                least=duration(step.shortest, language),
            ),
            effect=_why(step),
            heard=(each.mention.heard,),
            at_ms=each.mention.at_ms,
        )


def _hints(procedure: Procedure, hints: Sequence[Hint]) -> Iterator[Finding]:
    for hint in hints:
        title = procedure.step(hint.step).title
        reason = tell(procedure.language, "asked a hint", title=title)
        yield Finding(kind="hint", step=hint.step, title=title, reason=reason, at_ms=hint.at_ms)


def _hesitations(
    procedure: Procedure, heard: Sequence[Heard], kept: Sequence[Said], longest_ms: int, dictated: Collection[int]
) -> Iterator[Finding]:
    """Only before what was spoken: who types is silent meanwhile."""
    first = {each.mention.heard.n: each for each in reversed(kept)}
    # A wait is meant to be silent.
    waited = {each.mention.heard.n for each in kept if procedure.step(each.step).shortest}
    until = 0
    before = -1
    for each in heard:
        pause = each.at_ms - until
        said = first.get(each.n)
        if said is not None and each.n in dictated and pause > longest_ms and before not in waited:
            title = procedure.step(said.step).title
            time = duration(int(Decimal(pause) / 1000), procedure.language)
            reason = tell(procedure.language, "silence", title=title, time=time)
            yield Finding(kind="hesitation", step=said.step, title=title, reason=reason, heard=(each,), at_ms=until)
        until, before = each.until_ms, each.n
