"""Look, for a time where one is given, then say what was seen."""

from collections.abc import Iterable, Mapping
from typing import Literal

from pydantic import Field

from companion.procedure.due import holds
from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where
from companion.procedure.kinds.rounds import round_timer, round_up
from companion.procedure.step_parts import Abnormal, Every, Phrase, Seconds, Settled, Unless
from companion.procedure.steps import Step
from companion.session.state import Phase
from companion.session.timers import For, Timer, timer_of


class ObservationStep(Step):
    """Look for a time, then say what was seen; an abnormal answer takes its branch.

    `settled` answers confirm the step like `normal` ones, but only after their branch: nobody can claim that a second
    person has checked, or that the doctor knows, without having gone that way.
    """

    kind: Literal["observation"]
    look: Seconds | None = None
    normal: tuple[Phrase, ...] = Field(min_length=1)
    abnormal: tuple[Abnormal, ...] = Field(min_length=1)
    settled: tuple[Settled, ...] = ()
    unless: tuple[Unless, ...] = ()
    every: Every | None = None

    @property
    def confirming(self) -> tuple[str, ...]:
        return self.normal

    @property
    def rounds(self) -> Every | None:
        return self.every


class ObservationKind(Plain[ObservationStep]):
    """Something abnormal may be said at any moment; nothing abnormal only once the time is up."""

    model = ObservationStep

    def replies(self, step: ObservationStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        yield ("normal",), step.normal, "nothing abnormal"
        for index, abnormal in enumerate(step.abnormal):
            yield ("abnormal", index, "replies"), abnormal.replies, f"takes the branch `{abnormal.branch}`"
        for index, settled in enumerate(step.settled):
            names = ", ".join(f"`{name}`" for name in settled.branches)
            yield ("settled", index, "replies"), settled.replies, f"{names} was taken"

    def texts(self, step: ObservationStep) -> Iterable[tuple[Where, str]]:
        for index, unless in enumerate(step.unless):
            if unless.because is not None:
                yield ("unless", index, "because"), unless.because

    def branches(self, step: ObservationStep) -> Iterable[tuple[str, Where]]:
        for index, abnormal in enumerate(step.abnormal):
            yield abnormal.branch, ("abnormal", index, "branch")
        for index, unless in enumerate(step.unless):
            yield unless.branch, ("unless", index, "branch")

    def phrases(self, turn: Turn[ObservationStep]) -> Phrases:
        seen: dict[str, Meaning] = {}
        for abnormal in turn.step.abnormal:
            seen |= {phrase: Meaning("branch", abnormal.branch) for phrase in abnormal.replies}
        seen |= {phrase: Meaning("normal") for phrase in turn.step.normal}
        for settled in turn.step.settled:
            seen |= {phrase: Meaning("normal", " ".join(settled.branches)) for phrase in settled.replies}
        return seen

    def apart(self, step: ObservationStep, phrase: str) -> str:
        return phrase if any(phrase in unless.replies for unless in step.unless) else ""

    def reply(self, turn: Turn[ObservationStep], phrase: str, meaning: Meaning) -> Result:
        first, back_from = meaning.arg.split(), turn.state.frames[-1].back_from
        if first and not set(first) & set(back_from):
            titles = turn.tell("or after").join(turn.procedure.branch(name).title for name in first)
            return turn.stay(Say(turn.tell("only after", titles=titles), "refusal"))
        due = self.timers(turn).get(timer_of(turn.step.id, For.LOOK), 0)
        if turn.at_ms < due:
            return turn.stay(Say(turn.tell("keep looking", time=turn.said(-(-(due - turn.at_ms) // 1000))), "refusal"))
        for unless in turn.step.unless:
            value = turn.state.values.get(unless.of)
            if value is None or unless.branch in back_from or (unless.replies and phrase not in unless.replies):
                continue
            if holds(unless, value.text):
                why = (
                    turn.filled(unless.because)
                    if unless.because
                    else turn.tell("speaks against", value=turn.shown(value))
                )
                return turn.leave(unless.branch, Say(why, "caution"))
        return turn.finish()

    def timers(self, turn: Turn[ObservationStep]) -> Mapping[Timer, int]:
        due = dict(round_timer(turn))
        if turn.step.look is not None:
            due[timer_of(turn.step.id, For.LOOK)] = turn.here.since_ms + turn.step.look * 1000
        return due

    def time_up(self, turn: Turn[ObservationStep], timer: Timer) -> Result:
        if timer.what is For.ROUND:
            return round_up(turn)
        text = turn.filled(turn.step.short or turn.step.title)
        return turn.go(Phase.READY, Say(turn.tell("looked", text=text)))
