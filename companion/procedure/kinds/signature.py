"""Who did it: the performer's own tag, said again."""

from collections.abc import Iterable
from typing import Literal

from companion.procedure.kinds.base import Meaning, Phrases, Plain, Result, Say, Turn, Where
from companion.procedure.kinds.reading import meanings_of
from companion.procedure.steps import Step
from companion.speech.values import TagValue, ValueSpec


class SignatureStep(Step):
    """Who did it: the performer's own tag, said again. The last one closes the record."""

    kind: Literal["signature"]
    tag: TagValue = TagValue(type="tag")

    @property
    def signed(self) -> TagValue | None:
        return self.tag


class SignatureKind(Plain[SignatureStep]):
    """Only the performer signs."""

    model = SignatureStep

    def replies(self, step: SignatureStep) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        return ()

    def phrases(self, turn: Turn[SignatureStep]) -> Phrases:
        return meanings_of(turn, turn.step.tag, digits=True)

    def spec(self, turn: Turn[SignatureStep]) -> ValueSpec | None:
        return turn.step.tag

    def reply(self, turn: Turn[SignatureStep], phrase: str, meaning: Meaning) -> Result:
        if meaning.value is None or meaning.value.text != turn.state.performer:
            return turn.stay(Say(turn.tell("not the performer"), "refusal"))
        return turn.finish(values={turn.step.id: meaning.value})
