"""Say a value; hear it read back; then it stands."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, S, Say, Turn, Where
from companion.procedure.step_parts import Alert
from companion.procedure.steps import Step
from companion.session.state import Phase
from companion.speech.value_phrases import phrases_for
from companion.speech.values import Value, ValueSpec

_NOTHING: Mapping[str, Value] = MappingProxyType({})


class ReadingStep(Step):
    """Say a value; it is read back and then stands under the step's id."""

    kind: Literal["reading"]
    value: ValueSpec
    read_back: bool = True
    alerts: tuple[Alert, ...] = ()

    @property
    def stated(self) -> ValueSpec | None:
        return self.value


class ReadingKind(Plain[ReadingStep]):
    """After a wrong read-back or a miss the digits may also be said one by one."""

    model = ReadingStep

    def replies(self, step: ReadingStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return ()

    def branches(self, step: ReadingStep) -> Iterable[tuple[str, Where]]:
        return ((alert.branch, ("alerts", index, "branch")) for index, alert in enumerate(step.alerts))

    def phrases(self, turn: Turn[ReadingStep]) -> Phrases:
        if turn.here.phase == Phase.READ_BACK:
            return turn.right_or_wrong()
        return meanings_of(turn, turn.step.value, digits=turn.here.phase == Phase.DIGITS or turn.here.misses > 0)

    def spec(self, turn: Turn[ReadingStep]) -> ValueSpec | None:
        return None if turn.here.phase == Phase.READ_BACK else turn.step.value

    def question(self, turn: Turn[ReadingStep], short: bool = False) -> str:
        if turn.here.phase == Phase.READ_BACK and turn.here.pending is not None:
            return turn.heard(turn.shown(turn.here.pending, turn.step.value))
        return super().question(turn, short)

    def reply(self, turn: Turn[ReadingStep], phrase: str, meaning: Meaning) -> Result:
        if turn.here.phase == Phase.READ_BACK:
            if meaning.arg == "right" and turn.here.pending is not None:
                return self._given(turn, turn.here.pending)
            return turn.go(Phase.DIGITS, Say(turn.tell("again by digits")), pending=None)
        value = meaning.value
        if value is None:
            return turn.stay()
        if turn.step.read_back:
            said = turn.heard(turn.shown(value, turn.step.value))
            return turn.go(Phase.READ_BACK, Say(said, "read back"), pending=value)
        return self._given(turn, value)

    def _given(self, turn: Turn[ReadingStep], value: Value) -> Result:
        confirmed = ""
        for alert in turn.step.alerts:
            if not alerts(alert, value, turn.today, turn.state.values):
                continue
            if not self._answered(turn, alert, value):
                return Result(turn.here, branch=alert.branch, values={turn.step.id: value})
            confirmed = confirmed or alert.branch
        if not confirmed:
            return turn.finish(values={turn.step.id: value})
        title = turn.procedure.branch(confirmed).title
        text = turn.tell("stands", value=turn.shown(value, turn.step.value), title=title)
        return turn.finish(Say(text, "answer"), note=f"confirmed after {confirmed}", values={turn.step.id: value})

    def _answered(self, turn: Turn[ReadingStep], alert: Alert, value: Value) -> bool:
        """Whether the alert's branch was taken for this very value and has come back."""
        back_from = turn.state.frames[-1].back_from
        return alert.once and alert.branch in back_from and turn.state.values.get(turn.step.id) == value


def meanings_of(turn: Turn[S], spec: ValueSpec, digits: bool, secret: bool = False) -> Phrases:
    """Phrases of `spec`, each meaning its value; `digits` adds the digit-by-digit forms."""
    return _meanings(spec, turn.today, turn.procedure.language, digits, secret)


@lru_cache(maxsize=64)
def _meanings(spec: ValueSpec, today: date, language: str, digits: bool, secret: bool) -> Phrases:
    found = dict(phrases_for(spec, today, language=language))
    if digits:
        found.update(phrases_for(spec, today, digits_only=True, language=language))
    return MappingProxyType({phrase: Meaning("value", value=value, secret=secret) for phrase, value in found.items()})


def alerts(alert: Alert, value: Value, today: date, given: Mapping[str, Value] = _NOTHING) -> bool:
    """Whether `value` sends the session into the alert's branch. `given` holds the values it may stand beside."""
    if value.type == "choice":
        if alert.beside is None:
            return value.text in alert.is_
        return alert.beside not in given or given[alert.beside].text != value.text
    below, above = alert.below, alert.above
    if value.type == "number":
        amount = value.decimal()
        if alert.beside is not None:
            if alert.beside not in given:
                return True  # what cannot be compared is not waved through
            beside = given[alert.beside].decimal()
            amount -= beside
            below, above = limits_beside(alert, beside)
    elif value.type == "date":
        amount = Decimal((date.fromisoformat(value.text) - today).days)
    else:
        return False
    return (below is not None and amount < below) or (above is not None and amount > above)


def limits_beside(alert: Alert, beside: Decimal) -> tuple[Decimal | None, Decimal | None]:
    """How far under and over the figure it stands beside a value may be: the limits, or the share of that figure."""
    share = beside * (alert.percent or 0) / 100
    below = None if alert.below is None else min(alert.below, -share)
    return below, None if alert.above is None else max(alert.above, share)
