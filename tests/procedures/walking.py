"""Walks a procedure with a short script: whatever the script leaves out is answered as it should be.

A script maps a step, or `step/item`, to what is said there: one phrase, or several for one visit after another. A value
is given again on every visit; other replies are said on their visit only, and after that the step goes as it should.
Waits wait, looking looks, read-backs are answered right, figures are said twice and sealed; a value that nobody gives
is the first that nothing is said against.
"""

from collections.abc import Callable, Mapping
from copy import copy

from companion.procedure.kinds.action import ActionStep
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.kinds.paced import PacedStep
from companion.procedure.kinds.reading import ReadingStep, alerts
from companion.procedure.kinds.signature import SignatureStep
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.kinds.worked_out import CalculationStep, CheckStep, own_figure
from companion.procedure.model import Procedure
from companion.speech.language import control_phrases
from companion.speech.numbers import say_digits
from companion.speech.speakable import words_of
from companion.speech.value_phrases import say_value, values_of
from tests.walk import TODAY, Walker

Script = Mapping[str, str | tuple[str, ...]]
PERFORMER = "41"
CHECKER = "27"


class Walk:
    """One session of a procedure. `asked` lists the steps as they came up, those of branches among them."""

    def __init__(self, procedure: Procedure, script: Script | None = None, performer: str = PERFORMER) -> None:
        self.procedure = procedure
        self.walker = Walker(procedure, performer)
        self._right = control_phrases(procedure.language)["right"][0]
        self._left = {key: [said] if isinstance(said, str) else list(said) for key, said in (script or {}).items()}
        self.asked: list[str] = []
        self.branches: list[str] = []
        self._note()

    def fork(self) -> "Walk":
        """Another session that has gone the same way so far."""
        other = copy(self)
        other.walker = copy(self.walker)
        other.walker.events, other.walker.says = list(self.walker.events), list(self.walker.says)
        other.walker.figures = dict(self.walker.figures)
        other._left = {key: list(said) for key, said in self._left.items()}
        other.asked, other.branches = list(self.asked), list(self.branches)
        return other

    # Where it stands

    @property
    def step(self) -> str:
        """The step that is asked; empty when it is over."""
        return self.walker.step

    @property
    def branch(self) -> str | None:
        """The innermost open branch."""
        frames = self.walker.state.frames
        return frames[-1].branch if frames else None

    @property
    def status(self) -> str:
        return self.walker.state.status

    @property
    def outcome(self) -> str:
        return self.walker.state.outcome

    @property
    def done(self) -> list[str]:
        """The steps that stand confirmed, in the order they were."""
        return [entry.step for entry in self.walker.state.done]

    def value(self, name: str) -> str:
        """A value as written, such as `0.18 mL`."""
        return self.walker.state.values[name].written()

    # Going on

    def to(self, step: str) -> "Walk":
        """On until `step` is asked."""
        return self._on(lambda: self.step == step, f"`{step}`")

    def to_end(self) -> "Walk":
        """On until it is finished or abandoned."""
        return self._on(lambda: self.walker.state.ended, "the end")

    def out_of(self, branch: str) -> "Walk":
        """On until `branch` is left or the session is over."""

        def over() -> bool:
            state = self.walker.state
            return state.ended or all(frame.branch != branch for frame in state.frames)

        return self._on(over, f"the end of `{branch}`")

    def say(self, *phrases: str) -> "Walk":
        """Say phrases at the present step, whatever they lead to."""
        for phrase in phrases:
            self._reply(phrase)
        return self

    def read(self, phrase: str) -> "Walk":
        """Give a value and answer its read-back, if there is one."""
        self._reply(phrase)
        if self.walker.state.here.phase == "read back":
            self._reply(self._right)
        return self

    def answer(self) -> None:
        """Answer the present step by the script, or as it should be."""
        step = self.procedure.step(self.step)
        match step:
            case ActionStep():
                self._reply(self._take(step.id, step.replies[0]))
                if self.walker.state.here.phase == "read back" and self.step == step.id:
                    self._reply(self._right)
            case WaitStep():
                self._until(step.at_least)
                self._reply(self._take(step.id, step.replies[0]))
            case ObservationStep():
                self._until(step.look or 0)
                self._reply(self._take(step.id, step.normal[0]))
            case IdentificationStep():
                self._items(step)
            case ReadingStep():
                self.read(self._value(step))
            case CalculationStep():
                self.figure(self._take(step.id, self.own(step)))
            case CheckStep():
                self.check(self._take(step.id, self.own(self.checked(step))))
            case PacedStep():
                self.wait(0 if step.early else (len(step.parts) - 1) * step.pace)
                self._reply(self._take(step.id, step.replies[0]))
            case SignatureStep():
                self._reply(self._take(step.id, say_digits(self.walker.state.performer)))

    def figure(self, phrase: str) -> "Walk":
        """A figure that is said twice and sealed."""
        return self.say(phrase, phrase)

    def check(self, phrase: str, tag: str = CHECKER) -> "Walk":
        """A checker, who says who they are where that is not known, with their own figure or what they read."""
        step = self.procedure.step(self.step)
        assert isinstance(step, CheckStep)
        if self.walker.state.here.phase != "figure":
            self.say(say_digits(tag), self._right)
        return self.figure(phrase) if isinstance(self.checked(step), CalculationStep) else self.read(phrase)

    def own(self, step: CalculationStep | ReadingStep) -> str:
        """The program's own figure for a calculation, or what was given for a reading, as it is said."""
        if isinstance(step, ReadingStep):
            return words_of(say_value(self.walker.state.values[step.id], step.value))
        return say_value(own_figure(self.procedure, step, self.walker.state.values), step.value)

    def checked(self, step: CheckStep) -> CalculationStep | ReadingStep:
        """What a check looks at."""
        found = self.procedure.step(step.of)
        assert isinstance(found, CalculationStep | ReadingStep)
        return found

    def wait(self, seconds: int) -> "Walk":
        self.walker.wait(seconds)
        return self

    # Inside

    def _on(self, there: Callable[[], bool], where: str) -> "Walk":
        for _ in range(500):
            if there():
                return self
            assert not self.walker.state.ended, f"{self.status} ({self.outcome}) before {where}: {self.asked}"
            before = (self.step, self.walker.state.here, self.walker.state.frames)
            self.answer()
            after = (self.step, self.walker.state.here, self.walker.state.frames)
            assert after != before, f"stuck at `{self.step}` on the way to {where}: {self.walker.texts()}"
        raise AssertionError(f"went round and round on the way to {where}: {self.asked[-40:]}")

    def _reply(self, phrase: str) -> None:
        allowed = self.walker.machine.allowed(self.walker.state)
        assert phrase in allowed, f"`{phrase}` cannot be said at `{self.step}`: {list(allowed)[:12]}"
        frames = self.walker.state.frames
        self.walker.reply(phrase)
        if self.walker.state.frames != frames:
            self._note()

    def _note(self) -> None:
        if self.step:
            self.asked.append(self.step)
        for frame in self.walker.state.frames[-1:]:
            if frame.branch is not None and frame.index == 0:
                self.branches.append(frame.branch)

    def _take(self, key: str, otherwise: str) -> str:
        left = self._left.get(key)
        return left.pop(0) if left else otherwise

    def _value(self, step: ReadingStep) -> str:
        left = self._left.get(step.id)
        if left:
            return left.pop(0) if len(left) > 1 else left[0]
        beside = next((alert.beside for alert in step.alerts if alert.beside is not None), None)
        if beside is not None:
            return words_of(say_value(self.walker.state.values[beside], step.value))
        quiet = [alert for alert in step.alerts if alert.beside is None]
        value = next(v for v in values_of(step.value, TODAY) if not any(alerts(alert, v, TODAY) for alert in quiet))
        return words_of(say_value(value, step.value))

    def _items(self, step: IdentificationStep) -> None:
        for item in step.items[: step.count]:
            key = f"{step.id}/{item.id}"
            self._reply(self._take(key if self._left.get(key) else step.id, item.agrees[0]))
            if self.step != step.id:
                return

    def _until(self, seconds: int) -> None:
        left_ms = self.walker.state.here.since_ms + seconds * 1000 - self.walker.now
        if left_ms > 0:
            self.walker.wait(-(-left_ms // 1000))


def walk(
    procedure: Procedure, script: Script | None = None, *, to: str | None = None, performer: str = PERFORMER
) -> Walk:
    """A session by the script, as far as step `to`, or to its end."""
    going = Walk(procedure, script, performer)
    return going.to_end() if to is None else going.to(to)
