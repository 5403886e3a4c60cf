"""Parts told one after the other at a set pace, and one reply at the end."""

from collections.abc import Iterable, Mapping
from typing import ClassVar, Literal

from pydantic import Field

from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where, confirming
from companion.procedure.step_parts import Phrase, Seconds, Text
from companion.procedure.steps import Step
from companion.session.state import replace
from companion.session.timers import For, Timer, timer_of


class PacedStep(Step):
    """`parts` told one after the other, `pace` apart, and one reply at the end.

    A reply before the last part was told is not taken, unless `early`. Asked anew it begins with the first part.
    """

    kind: Literal["paced"]
    parts: tuple[Text, ...] = Field(min_length=2, max_length=20)
    pace: Seconds
    replies: tuple[Phrase, ...] = Field(min_length=1)
    early: bool = False
    tells_parts: ClassVar[bool] = True

    @property
    def confirming(self) -> tuple[str, ...]:
        return self.replies


class PacedKind(Plain[PacedStep]):
    """`Here.item` counts the parts told. The pace is counted from when the last part began, so that a long part or a
    prompt still being spoken never makes the next ones catch up."""

    model = PacedStep

    def replies(self, step: PacedStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return confirming(step)

    def texts(self, step: PacedStep) -> Iterable[tuple[Where, str]]:
        return ((("parts", index), part) for index, part in enumerate(step.parts))

    def phrases(self, turn: Turn[PacedStep]) -> Phrases:
        return {reply: Meaning("confirm") for reply in turn.step.replies}

    def reply(self, turn: Turn[PacedStep], phrase: str, meaning: Meaning) -> Result:
        left = max(0, len(turn.step.parts) - turn.here.item)
        if left and not turn.step.early:
            return turn.stay(Say(turn.tell("not yet, parts", left=left, parts=len(turn.step.parts)), "refusal"))
        return turn.finish()

    def timers(self, turn: Turn[PacedStep]) -> Mapping[Timer, int]:
        told = turn.here.item
        if told > len(turn.step.parts):
            return {}
        return {timer_of(turn.step.id, For.PART, told + 1): turn.here.since_ms + (turn.step.pace * 1000 if told else 0)}

    def time_up(self, turn: Turn[PacedStep], timer: Timer) -> Result:
        told = turn.here.item
        over = told == len(turn.step.parts)
        text = (turn.step.short or turn.step.title) if over else turn.step.parts[told]
        return Result(replace(turn.here, item=told + 1, since_ms=turn.at_ms), (Say(turn.filled(text)),))
