"""Do it, then confirm it aloud."""

from collections.abc import Iterable, Mapping
from typing import Literal

from pydantic import Field

from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where, confirming
from companion.procedure.kinds.rounds import round_timer, round_up
from companion.procedure.step_parts import Every, Phrase
from companion.procedure.steps import Step
from companion.session.state import Phase
from companion.session.timers import Timer


class ActionStep(Step):
    """Do it, then confirm it aloud. A critical one has content in its reply, or is read back."""

    kind: Literal["action"]
    replies: tuple[Phrase, ...] = Field(min_length=1)
    read_back: bool = False
    every: Every | None = None

    @property
    def confirming(self) -> tuple[str, ...]:
        return self.replies

    @property
    def rounds(self) -> Every | None:
        return self.every


class ActionKind(Plain[ActionStep]):
    """A critical action whose reply has no content of its own is read back."""

    model = ActionStep

    def replies(self, step: ActionStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return confirming(step)

    def phrases(self, turn: Turn[ActionStep]) -> Phrases:
        if turn.here.phase == Phase.READ_BACK:
            return turn.right_or_wrong()
        return {reply: Meaning("confirm") for reply in turn.step.replies}

    def timers(self, turn: Turn[ActionStep]) -> Mapping[Timer, int]:
        return round_timer(turn)

    def time_up(self, turn: Turn[ActionStep], timer: Timer) -> Result:
        return round_up(turn)

    def question(self, turn: Turn[ActionStep], short: bool = False) -> str:
        if turn.here.phase == Phase.READ_BACK:
            return turn.heard(turn.here.pending_phrase)
        return super().question(turn, short)

    def reply(self, turn: Turn[ActionStep], phrase: str, meaning: Meaning) -> Result:
        if turn.here.phase == Phase.READ_BACK:
            if meaning.arg == "right":
                return turn.finish()
            return turn.go(Phase.ASK, Say(turn.filled(turn.step.short or turn.step.say)))
        if turn.step.read_back:
            return turn.go(Phase.READ_BACK, Say(turn.heard(phrase), "read back"), pending_phrase=phrase)
        return turn.finish()
