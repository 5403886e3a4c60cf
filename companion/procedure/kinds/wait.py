"""A shortest time that cannot be confirmed early."""

from collections.abc import Iterable, Mapping
from typing import Literal

from pydantic import Field

from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where, confirming, prompt
from companion.procedure.kinds.rounds import round_timer, round_up
from companion.procedure.step_parts import Every, Phrase, Seconds, Slug
from companion.procedure.steps import Step
from companion.session.state import Here, Phase, State
from companion.session.timers import For, Timer, timer_of


class WaitStep(Step):
    """A shortest time that cannot be confirmed early, counted from when the step is asked or `since` a step.

    Confirmed after `at_most` it takes the branch `late`, such as one that starts again from an earlier step; without
    `late` it is confirmed and noted as late. `since` an earlier step the time runs while other steps are done.
    """

    kind: Literal["wait"]
    at_least: Seconds
    at_most: Seconds | None = None
    since: Slug | None = None
    replies: tuple[Phrase, ...] = Field(min_length=1)
    late: Slug | None = None
    on_pause: Literal["goes on", "starts again"] = "goes on"
    every: Every | None = None

    @property
    def confirming(self) -> tuple[str, ...]:
        return self.replies

    @property
    def shortest(self) -> int:
        return self.at_least

    @property
    def counted_from(self) -> str:
        return self.since or ""

    @property
    def rounds(self) -> Every | None:
        return self.every

    @property
    def runs_on(self) -> bool:
        return self.on_pause == "goes on" or super().runs_on


class WaitKind(Plain[WaitStep]):
    """Counted on the session's clock, from the step it hangs on or from when it is asked."""

    model = WaitStep

    def replies(self, step: WaitStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return confirming(step)

    def branches(self, step: WaitStep) -> Iterable[tuple[str, Where]]:
        return () if step.late is None else [(step.late, ("late",))]

    def ask(self, turn: Turn[WaitStep]) -> Result:
        since = turn.state.done_at(turn.step.since) if turn.step.since else None
        here = Here(since_ms=turn.at_ms if since is None else since)
        left = _left_s(turn.step, here, turn.at_ms)
        more = (turn.tell("to go", time=turn.said(left)),) if left else (turn.tell("already up"),)
        return Result(here, prompt(turn, *more))

    def phrases(self, turn: Turn[WaitStep]) -> Phrases:
        return {reply: Meaning("confirm") for reply in turn.step.replies}

    def question(self, turn: Turn[WaitStep], short: bool = False) -> str:
        left = _left_s(turn.step, turn.here, turn.at_ms)
        return super().question(turn, short) + (
            f" {turn.tell('to go', time=turn.said(left))}" if left and not short else ""
        )

    def reply(self, turn: Turn[WaitStep], phrase: str, meaning: Meaning) -> Result:
        left = _left_s(turn.step, turn.here, turn.at_ms)
        if left:
            return turn.stay(Say(turn.tell("not yet, time", time=turn.said(left)), "refusal"))
        most = turn.step.at_most
        if most is not None and turn.at_ms - turn.here.since_ms > most * 1000:
            over = turn.tell("later than", time=turn.said(most))
            if turn.step.late is not None:
                return turn.leave(turn.step.late, Say(over, "caution"))
            return turn.finish(Say(turn.tell("noted late", over=over), "caution"), note="late")
        return turn.finish()

    def timers(self, turn: Turn[WaitStep]) -> Mapping[Timer, int]:
        due = {timer_of(turn.step.id, For.LEAST): turn.here.since_ms + turn.step.at_least * 1000}
        if turn.step.at_least >= 40:
            due[timer_of(turn.step.id, For.HALF)] = turn.here.since_ms + turn.step.at_least * 500
        if turn.step.at_most is not None:
            due[timer_of(turn.step.id, For.MOST)] = turn.here.since_ms + turn.step.at_most * 1000
        return {**due, **round_timer(turn)}

    def ahead(self, step: WaitStep, state: State) -> Mapping[Timer, int]:
        since = state.done_at(step.since) if step.since and state.done_at(step.id) is None else None
        return {} if since is None else {timer_of(step.id, For.LEAST): since + step.at_least * 1000}

    def time_up(self, turn: Turn[WaitStep], timer: Timer) -> Result:
        if timer.what is For.ROUND:
            return round_up(turn)
        if timer.what is For.HALF:
            left = _left_s(turn.step, turn.here, turn.at_ms)
            return turn.stay(Say(turn.tell("to go", time=turn.said(left)), "note")) if left else turn.stay()
        if timer.what is For.MOST:
            over = turn.tell("gone by", time=turn.said(turn.step.at_most or 0))
            return turn.stay(Say(over + _then(turn), "caution"))
        text = turn.filled(turn.step.short or turn.step.title)
        return turn.go(Phase.READY, Say(turn.tell("passed", time=turn.said(turn.step.at_least), text=text)))


def _then(turn: Turn[WaitStep]) -> str:
    """What a reply leads to now."""
    return (
        "" if turn.step.late is None else turn.tell("goes on with", title=turn.procedure.branch(turn.step.late).title)
    )


def _left_s(step: WaitStep, here: Here, at_ms: int) -> int:
    """Whole seconds still to go, rounded up; 0 when the time is up."""
    return max(0, -(-(here.since_ms + step.at_least * 1000 - at_ms) // 1000))
