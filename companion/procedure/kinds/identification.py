"""Identifiers confirmed one by one. Only agreement is said: no name or number enters the record."""

from collections.abc import Iterable
from typing import Literal

from pydantic import Field

from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where, prompt
from companion.procedure.step_parts import Item, Slug
from companion.procedure.steps import Step
from companion.session.state import Here, Phase


class IdentificationStep(Step):
    """The first `count` of `items`, each confirmed apart; one that differs stops the work."""

    kind: Literal["identification"]
    count: int = Field(ge=1)
    items: tuple[Item, ...] = Field(min_length=1)
    mismatch: Slug

    @property
    def asked_apart(self) -> tuple[Item, ...]:
        return self.items[: self.count]

    @property
    def known_by(self) -> tuple[str, ...]:
        return tuple(text for item in self.items for text in (item.say, *item.agrees))


class IdentificationKind(Plain[IdentificationStep]):
    """One item that differs stops the work at once; there is no read-back to talk it away."""

    model = IdentificationStep

    def replies(self, step: IdentificationStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        for index, item in enumerate(step.items):
            yield ("items", index, "agrees"), item.agrees, f"`{item.id}` agrees"
            yield ("items", index, "differs"), item.differs, f"`{item.id}` differs"

    def texts(self, step: IdentificationStep) -> Iterable[tuple[Where, str]]:
        return ((("items", index, "say"), item.say) for index, item in enumerate(step.items))

    def branches(self, step: IdentificationStep) -> Iterable[tuple[str, Where]]:
        return [(step.mismatch, ("mismatch",))]

    def ask(self, turn: Turn[IdentificationStep]) -> Result:
        return Result(Here(since_ms=turn.at_ms), prompt(turn, turn.step.items[0].say))

    def phrases(self, turn: Turn[IdentificationStep]) -> Phrases:
        item = turn.step.items[turn.here.item]
        differs = {phrase: Meaning("differs", item.id) for phrase in item.differs}
        return differs | {phrase: Meaning("agrees", item.id) for phrase in item.agrees}

    def rest(self, turn: Turn[IdentificationStep]) -> tuple[Item, ...]:
        items = turn.step.asked_apart[turn.here.item :]
        return tuple(item.model_copy(update={"say": turn.filled(item.say)}) for item in items)

    def question(self, turn: Turn[IdentificationStep], short: bool = False) -> str:
        item = turn.filled(turn.step.items[turn.here.item].say)
        return item if short or turn.here.item else f"{turn.filled(turn.step.say)} {item}"

    def reply(self, turn: Turn[IdentificationStep], phrase: str, meaning: Meaning) -> Result:
        if meaning.kind == "differs":
            return turn.leave(turn.step.mismatch)
        following = turn.here.item + 1
        if following >= turn.step.count:
            return turn.finish()
        return turn.go(Phase.ASK, Say(turn.filled(turn.step.items[following].say)), item=following)
