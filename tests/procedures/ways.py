"""Every way into a branch of a procedure, and going into a branch by one of them and out again."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from companion.procedure.due import holds
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.kinds.reading import ReadingStep, alerts
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.kinds.worked_out import CalculationStep, CheckStep
from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Site, sites
from companion.procedure.step_parts import Alert, Every, Unless
from companion.procedure.steps import Step
from companion.speech.speakable import words_of
from companion.speech.value_phrases import say_value, values_of
from companion.speech.values import Value
from tests.procedures.walking import Script, Walk
from tests.walk import TODAY


@dataclass(frozen=True)
class Way:
    """Into `branch` from `step`: `how` is what happens there and `said` what is said for it, as far as it is fixed."""

    branch: str
    step: str
    how: str
    said: str = ""
    item: int = 0
    given: tuple[str, str] | None = None
    """A step and what has to be said there beforehand."""

    def __str__(self) -> str:
        return f"{self.branch}-{self.step}-{self.said.replace(' ', '_') or self.how}"


def ways(procedure: Procedure) -> list[Way]:
    """All of them. A word heard everywhere is tried at the first, the middle and the last main step."""
    found = [way for site in sites(procedure) for way in _at(procedure, site)]
    mains = [step.id for step in procedure.steps]
    few = (mains[0], mains[len(mains) // 2], mains[-1])
    for branch in procedure.branches:
        for phrase in branch.heard:
            found += [Way(branch.id, step, "word", phrase) for step in branch.at or few]
    return found


def _at(procedure: Procedure, site: Site) -> Iterator[Way]:
    step = site.step
    if step.rounds is not None and step.rounds.then:
        yield Way(step.rounds.then, step.id, "rounds")
    match step:
        case ObservationStep():
            for abnormal in step.abnormal:
                yield from (Way(abnormal.branch, step.id, "word", phrase) for phrase in abnormal.replies)
            for unless in step.unless:
                if not isinstance(procedure.step(unless.of), ReadingStep):
                    continue  # what a calculation gives cannot be chosen; tests of the procedure go there
                given = unless.of, _speaking_against(procedure, unless)
                for phrase in unless.replies or step.normal:
                    yield Way(unless.branch, step.id, "against", phrase, given=given)
        case IdentificationStep():
            for index, item in enumerate(step.items[: step.count]):
                yield from (Way(step.mismatch, step.id, "item", phrase, index) for phrase in item.differs)
        case ReadingStep():
            for alert in step.alerts:
                if alert.beside is not None:
                    hows = [how for how in ("above", "below") if getattr(alert, how) is not None] or ["another choice"]
                    yield from (Way(alert.branch, step.id, how) for how in hows)
                    continue
                yield from (Way(alert.branch, step.id, "value", said) for said in _alarming(step, alert))
        case CalculationStep():
            if procedure.check_of(step.id) is None:
                yield Way(step.disagree, step.id, "own figure")
        case CheckStep():
            yield Way(step.disagree, step.id, "another figure")
        case WaitStep():
            if step.late is not None:
                yield Way(step.late, step.id, "late")
        case _:
            return


def _speaking_against(procedure: Procedure, unless: Unless) -> str:
    """The first value that holds an answer up."""
    of = procedure.step(unless.of)
    assert isinstance(of, ReadingStep)
    value = next(each for each in values_of(of.value, TODAY) if holds(unless, each.text))
    return words_of(say_value(value, of.value))


def _alarming(step: ReadingStep, alert: Alert) -> Iterator[str]:
    """The values nearest to the limits that set this alert off and no earlier one."""
    values = list(values_of(step.value, TODAY))
    going_off = [value for value in values if _first(step, value) is alert]
    below = [value for value in going_off if alert.below is not None and _amount(value) < alert.below]
    above = [value for value in going_off if alert.above is not None and _amount(value) > alert.above]
    chosen = [*below[-1:], *above[:1], *(value for value in going_off if value.text in alert.is_)]
    assert chosen, f"no value of `{step.id}` leads to `{alert.branch}`"
    for value in chosen:
        yield words_of(say_value(value, step.value))


def _first(step: ReadingStep, value: Value) -> Alert | None:
    return next((alert for alert in step.alerts if alert.beside is None and alerts(alert, value, TODAY)), None)


def _amount(value: Value) -> Decimal:
    if value.type == "date":
        return Decimal((date.fromisoformat(value.text) - TODAY).days)
    return value.decimal()


def route(procedure: Procedure, step: str, entries: list[Way]) -> list[Way]:
    """The ways to take one after another before `step` is asked; none for a main step."""
    home = {site.step.id: site.branch for site in sites(procedure)}
    waiting: list[tuple[str, list[Way]]] = [(step, [])]
    seen = {step}
    while waiting:
        place, then = waiting.pop(0)
        branch = home[place]
        if branch is None:
            return then
        for way in entries:
            if way.branch == branch.id and way.step not in seen:
                seen.add(way.step)
                waiting.append((way.step, [way, *then]))
    raise AssertionError(f"no way leads to `{step}`")


def take(walk: Walk, way: Way) -> None:
    """From wherever it is, on to the step of a way and into its branch."""
    walk.to(way.step)
    step = walk.procedure.step(way.step)
    if way.how == "value":
        walk.read(way.said)
    elif way.how in ("above", "below"):
        assert isinstance(step, ReadingStep)
        said = _beside(walk, step, way)
        assert said is not None
        walk.read(said)
    elif way.how == "item":
        assert isinstance(step, IdentificationStep)
        walk.say(*(item.agrees[0] for item in step.items[: way.item]), way.said)
    elif way.how == "late":
        assert isinstance(step, WaitStep) and step.at_most is not None
        walk.wait(step.at_most + 1).say(step.replies[0])
    elif way.how == "own figure":
        assert isinstance(step, CalculationStep)
        walk.figure(_other(walk, step))
    elif way.how == "another figure":
        assert isinstance(step, CheckStep)
        walk.check(_other(walk, walk.checked(step)))
    elif way.how == "another choice":
        assert isinstance(step, ReadingStep)
        beside = next(each.beside for each in step.alerts if each.branch == way.branch and each.beside is not None)
        value = next(each for each in values_of(step.value, TODAY) if each != walk.walker.state.values[beside])
        walk.read(words_of(say_value(value, step.value)))
    elif way.how == "rounds":
        walk.wait(_rounds(step).time * (_rounds(step).most or 0))
    else:
        walk.say(way.said)
    assert walk.branch == way.branch, f"{way} led to `{walk.branch}`"


def _beside(walk: Walk, step: ReadingStep, way: Way) -> str | None:
    """The value nearest to the figure it stands beside that is too far from it, if there is one that far."""
    alert = next(each for each in step.alerts if each.branch == way.branch and getattr(each, way.how) is not None)
    assert alert.beside is not None
    beside = walk.walker.state.values[alert.beside].decimal()
    share = beside * (alert.percent or 0) / 100
    limit = beside + (max(alert.above or 0, share) if way.how == "above" else min(alert.below or 0, -share))
    values = list(values_of(step.value, TODAY))
    if way.how == "above":
        value = next((each for each in values if each.decimal() > limit), None)
    else:
        value = next((each for each in reversed(values) if each.decimal() < limit), None)
    return None if value is None else words_of(say_value(value, step.value))


def _out_of_range(walk: Walk, way: Way) -> bool:
    """Whether nothing that can be said lies that far from the figure it stands beside, as that was given."""
    step = walk.procedure.step(way.step)
    return way.how in ("above", "below") and isinstance(step, ReadingStep) and _beside(walk, step, way) is None


def _other(walk: Walk, step: CalculationStep | ReadingStep) -> str:
    """A figure or choice that is not the right one."""
    right = walk.own(step)
    said = (words_of(say_value(value, step.value)) for value in values_of(step.value, TODAY))
    return next(each for each in said if each != right)


def _rounds(step: Step) -> Every:
    assert step.rounds is not None
    return step.rounds


class Trips:
    """Goes into branches and out again, from one straight walk that is kept at each main step."""

    def __init__(self, procedure: Procedure, script: Script) -> None:
        self.procedure = procedure
        self.script = script
        self.kept: dict[str, Walk] = {}
        asked = set(Walk(procedure, script).to_end().asked)
        walk = Walk(procedure, script)
        for step in procedure.steps:
            if step.id in asked:
                self.kept[step.id] = walk.to(step.id).fork()
        # What is not due in that walk is walked to by tests of its own.
        passed = {step.id for step in procedure.steps} - asked
        self.ways = [way for way in ways(procedure) if way.step not in passed and not _out_of_range(walk, way)]

    def into(self, way: Way) -> Walk:
        """A session that has just taken a way, with whatever ways lead to it."""
        entries = [*route(self.procedure, way.step, self.ways), way]
        given = dict(each.given for each in entries if each.given is not None)
        walk = Walk(self.procedure, {**self.script, **given}) if given else self.kept[entries[0].step].fork()
        for each in entries:
            take(walk, each)
        return walk

    def through(self, way: Way) -> Walk:
        """A session that has taken a way and come out of its branch as the procedure's file says."""
        walk = self.into(way)
        ends = self.procedure.branch(way.branch).ends
        entries = [*route(self.procedure, way.step, self.ways), way]
        # A branch that is taken out of itself starts over, and comes back to where it was first taken.
        first = next(each for each in entries if each.branch == way.branch)
        walk.out_of(way.branch)
        if ends.do == "abandon":
            assert walk.status == "abandoned", (way, walk.asked)
            assert ends.reason and walk.outcome == ends.reason
        else:
            assert walk.status == "running", (way, walk.outcome, walk.asked)
            assert walk.step == (first.step if ends.do == "return" else ends.step), (way, walk.asked)
        return walk
