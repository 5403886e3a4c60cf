"""Figures people work out: the performer's calculation and a second person's independent check.

Each figure is said twice and sealed; no prompt repeats it. Where a check looks at a calculation both seals are
opened together, compared with each other, and only then with the program's own working (ISMP Canada, 2019:
two people work apart, neither knowing the other's result).
"""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar, Literal

from companion.dose import Quantity, Worked, quantity, work_out
from companion.dose.rounding import rule_for_steps
from companion.errors import DoseError
from companion.procedure.due import is_due
from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where, prompt
from companion.procedure.kinds.reading import ReadingStep, meanings_of
from companion.procedure.step_parts import Slug, Text
from companion.procedure.steps import Step
from companion.session.events import Opened
from companion.session.seals import opens
from companion.session.state import Here, Phase, replace
from companion.speech.controls import right_or_wrong
from companion.speech.speakable import is_english
from companion.speech.values import NumberValue, TagValue, Value, ValueSpec

if TYPE_CHECKING:
    from companion.procedure.model import Procedure  # which is made of the kinds


class CalculationStep(Step):
    """The performer states the figure first; the program works it out alone and compares.

    `inputs` names, for each term of `formula`, the reading or setting it is taken from. Where an independent
    check looks at this step the figure is sealed until the second person's is in.
    """

    kind: Literal["calculation"]
    formula: Slug
    inputs: dict[Slug, Slug]
    value: NumberValue
    disagree: Slug
    worked_out: ClassVar[bool] = True

    @property
    def stated(self) -> ValueSpec | None:
        return self.value


class CalculationKind(Plain[CalculationStep]):
    """Without a check the only seal is opened at once; with one the step is done under seal."""

    model = CalculationStep

    def replies(self, step: CalculationStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return ()

    def branches(self, step: CalculationStep) -> Iterable[tuple[str, Where]]:
        return [(step.disagree, ("disagree",))]

    def phrases(self, turn: Turn[CalculationStep]) -> Phrases:
        if turn.here.phase == Phase.OPENING:
            return {}
        return meanings_of(turn, turn.step.value, digits=True, secret=True)

    def spec(self, turn: Turn[CalculationStep]) -> ValueSpec | None:
        return None if turn.here.phase == Phase.OPENING else turn.step.value

    def own(self, procedure: "Procedure", step: CalculationStep, given: Mapping[str, Value]) -> Value | None:
        try:
            return own_figure(procedure, step, given)
        except DoseError:
            return None

    def question(self, turn: Turn[CalculationStep], short: bool = False) -> str:
        return turn.tell("once more") if turn.here.phase == Phase.AGAIN else super().question(turn, short)

    def reply(self, turn: Turn[CalculationStep], phrase: str, meaning: Meaning) -> Result:
        raise ValueError(f"the figure of step {turn.step.id} must come under seal")

    def sealed(self, turn: Turn[CalculationStep], seal: str) -> Result:
        if turn.here.phase != Phase.AGAIN:
            return turn.go(Phase.AGAIN, Say(turn.tell("noted")), seal=seal)
        if seal != turn.here.seal:
            return turn.go(Phase.ASK, Say(turn.tell("two differ"), "refusal"), seal="")
        check = turn.procedure.check_of(turn.step.id)
        if check is None or is_due(turn.procedure, turn.state.values, check) is False:
            result = turn.go(Phase.OPENING)
            return Result(result.here, seal=seal)
        return Result(turn.here, done=True, seal=seal)

    def opened(self, turn: Turn[CalculationStep], event: Opened) -> Result:
        """Compare the only figure with the program's own."""
        figure = _number(turn.step.value, event.first)
        _must_open(turn.state.seals.get(turn.step.id), figure, event.first_salt)
        own = _agreeing(turn, turn.step, figure)
        if isinstance(own, str):
            return turn.leave(turn.step.disagree, Say(own, "caution"))
        agreed = Say(turn.tell("working agrees", figure=turn.shown(figure)), "answer")
        return turn.finish(agreed, *_working(turn, own), values={turn.step.id: figure})


class CheckStep(Step):
    """A second person, named by tag and not the performer, states their own figure for calculation `of`, or says what
    they see themselves where the performer gave reading `of`; `ask` is what they are asked."""

    kind: Literal["independent check"]
    of: Slug
    ask: Text | None = None
    tag: TagValue = TagValue(type="tag")
    disagree: Slug

    @property
    def checks(self) -> str:
        return self.of


class CheckKind(Plain[CheckStep]):
    """First who checks, unless that is known, then their figure or what they read themselves.

    What they read is compared with what the performer read; nothing asked, refused or told holds the first value.
    """

    model = CheckStep

    def replies(self, step: CheckStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return ()

    def values(self, step: CheckStep, procedure: "Procedure") -> Iterable[tuple[Where, ValueSpec]]:
        yield ("tag",), step.tag
        for other in procedure.all_steps():
            if other.id == step.of and other.stated is not None:
                yield ("of",), other.stated

    def texts(self, step: CheckStep) -> Iterable[tuple[Where, str]]:
        return () if step.ask is None else [(("ask",), step.ask)]

    def branches(self, step: CheckStep) -> Iterable[tuple[str, Where]]:
        return [(step.disagree, ("disagree",))]

    def ask(self, turn: Turn[CheckStep]) -> Result:
        known = turn.state.checker
        if not known:
            return super().ask(turn)
        caution = prompt(turn)[:-1]
        text = turn.tell("checker as before", tag=known, question=_question(turn))
        return Result(Here(phase=Phase.FIGURE, since_ms=turn.at_ms, tag=known), (*caution, Say(text)))

    def phrases(self, turn: Turn[CheckStep]) -> Phrases:
        phase, checked = turn.here.phase, _checked(turn)
        if phase == Phase.OPENING:
            return {}
        if phase == Phase.READ_BACK:
            return turn.right_or_wrong()
        tags = meanings_of(turn, turn.step.tag, digits=True)
        if phase not in (Phase.FIGURE, Phase.AGAIN):
            return tags
        own = meanings_of(turn, checked.value, digits=True, secret=isinstance(checked, CalculationStep))
        return {**own, **tags} if phase == Phase.FIGURE and turn.state.checker else own

    def spec(self, turn: Turn[CheckStep]) -> ValueSpec | None:
        if turn.here.phase in (Phase.OPENING, Phase.READ_BACK):
            return None
        return turn.step.tag if turn.here.phase == Phase.ASK else _checked(turn).value

    def question(self, turn: Turn[CheckStep], short: bool = False) -> str:
        if turn.here.phase == Phase.READ_BACK and turn.here.pending is not None:
            return _heard(turn, turn.here.pending)
        asked = {Phase.FIGURE: _question(turn), Phase.AGAIN: turn.tell("once more")}.get(turn.here.phase)
        return asked or super().question(turn, short)

    def reply(self, turn: Turn[CheckStep], phrase: str, meaning: Meaning) -> Result:
        pending, value = turn.here.pending, meaning.value
        if turn.here.phase == Phase.READ_BACK:
            if pending is not None and pending.type != "tag":
                return self._read(turn, pending, meaning)
            if meaning.arg == "right" and pending is not None:
                result = turn.go(Phase.FIGURE, Say(_question(turn)), tag=pending.text, pending=None)
                # Whoever reads is known before they are heard; a figure under seal tells its checker with the seal.
                return result if isinstance(_checked(turn), CalculationStep) else replace(result, checker=pending.text)
            return turn.go(Phase.ASK, Say(turn.tell("checker again")), pending=None)
        if value is not None and value.type != "tag":
            return turn.go(Phase.READ_BACK, Say(_heard(turn, value), "read back"), pending=value)
        if value is None:
            raise ValueError(f"the figure of step {turn.step.id} must come under seal")
        if value.text == turn.state.performer:
            return turn.stay(Say(turn.tell("another person"), "refusal"))
        return turn.go(Phase.READ_BACK, Say(_heard(turn, value), "read back"), pending=value)

    def _read(self, turn: Turn[CheckStep], value: Value, meaning: Meaning) -> Result:
        """Compare what the second person read, once they have said that it was heard right."""
        if meaning.arg != "right":
            return turn.go(Phase.FIGURE, Say(turn.tell("checker says again")), pending=None)
        first = turn.state.values.get(turn.step.of)
        if first is None or first.text != value.text:
            return replace(
                turn.leave(turn.step.disagree, Say(turn.tell("readings differ"), "caution")), checker=turn.here.tag
            )
        agreed = Say(turn.tell("same reading", value=turn.shown(value)), "answer")
        return replace(turn.finish(agreed, values={turn.step.id: value}), checker=turn.here.tag)

    def sealed(self, turn: Turn[CheckStep], seal: str) -> Result:
        if turn.here.phase == Phase.FIGURE:
            return turn.go(Phase.AGAIN, Say(turn.tell("noted")), seal=seal)
        if turn.here.phase != Phase.AGAIN:
            raise ValueError(f"step {turn.step.id} expects a tag, not a figure")
        if seal != turn.here.seal:
            return turn.go(Phase.FIGURE, Say(turn.tell("two differ"), "refusal"), seal="")
        result = turn.go(Phase.OPENING)
        return Result(result.here, seal=seal, checker=turn.here.tag)

    def opened(self, turn: Turn[CheckStep], event: Opened) -> Result:
        """Compare the two figures, then both with the program's own."""
        calculation = _checked(turn)
        if isinstance(calculation, ReadingStep):
            raise ValueError(f"step {turn.step.id} has no seal to open")
        if event.second is None or event.second_salt is None:
            raise ValueError("the checker's figure is missing")
        first = _number(calculation.value, event.first)
        second = _number(calculation.value, event.second)
        _must_open(turn.state.seals.get(calculation.id), first, event.first_salt)
        _must_open(turn.state.seals.get(turn.step.id), second, event.second_salt)
        if first.decimal() != second.decimal():
            text = turn.tell("figures differ", first=turn.shown(first), second=turn.shown(second))
            return turn.leave(turn.step.disagree, Say(text, "caution"))
        own = _agreeing(turn, calculation, first)
        if isinstance(own, str):
            return turn.leave(
                turn.step.disagree, Say(turn.tell("you both have", figure=turn.shown(first), own=own), "caution")
            )
        agreed = Say(turn.tell("both agree", figure=turn.shown(first)), "answer")
        return turn.finish(agreed, *_working(turn, own), values={calculation.id: first})


def _checked(turn: Turn[CheckStep]) -> CalculationStep | ReadingStep:
    step = turn.procedure.step(turn.step.of)
    assert isinstance(step, CalculationStep | ReadingStep)  # the loader has checked it
    return step


def _question(turn: Turn[CheckStep]) -> str:
    return turn.filled(turn.step.ask or turn.tell("checker's figure"))


def _heard(turn: Turn[CheckStep], value: Value) -> str:
    """The read-back of the checker's tag, or of what they have read."""
    if value.type != "tag":
        return turn.heard(turn.shown(value))
    return turn.tell("checker's tag", tag=turn.shown(value), question=right_or_wrong(turn.procedure.language))


def own_figure(procedure: "Procedure", step: CalculationStep, given: Mapping[str, Value]) -> Value:
    """The program's own result, rounded as finely as the step's figures go. Raises DoseError."""
    own = worked(procedure, step, given)
    return Value(type="number", text=format(own.rounded, "f"), unit=own.unit)


def worked(procedure: "Procedure", step: CalculationStep, given: Mapping[str, Value]) -> Worked:
    """The program's own working from the values given, by step, and the settings. Raises DoseError."""
    settings = {setting.id: setting.value for setting in procedure.settings}
    inputs: dict[str, Quantity | str] = {}
    for term, name in step.inputs.items():
        if name not in given and name not in settings:
            raise DoseError(f"the value of `{name}` was not given")
        inputs[term] = quantity(given[name].decimal(), given[name].unit) if name in given else settings[name]
    own = work_out(step.formula, inputs, rounding=rule_for_steps(step.value.by))
    if own.unit != step.value.unit:
        raise DoseError(f"step {step.id} asks for {step.value.unit}, its formula gives {own.unit}")
    return own


def _agreeing(turn: Turn[CalculationStep] | Turn[CheckStep], step: CalculationStep, figure: Value) -> Worked | str:
    """The program's own working where `figure` is its result; else what is wrong, without saying what it should be."""
    try:
        own = worked(turn.procedure, step, turn.state.values)
    except DoseError as fault:
        return turn.tell("cannot be done", fault=fault)
    return own if own.agrees(figure.decimal()) else turn.tell("something else")


def _working(turn: Turn[CalculationStep] | Turn[CheckStep], own: Worked) -> tuple[Say, ...]:
    """Said only after the figures were opened and agree; workings are written in English."""
    return (Say(" ".join(own.working), "note"),) if is_english(turn.procedure.language) else ()


def _number(spec: NumberValue, text: str) -> Value:
    return Value(type="number", text=text, unit=spec.unit)


def _must_open(sealed: str | None, value: Value, salt: str) -> None:
    if sealed is None or not opens(sealed, value, salt):
        raise ValueError(f"the figure {value.written()} is not the one that was sealed")
