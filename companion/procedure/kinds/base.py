"""What a kind of step is given and what it gives back."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Generic, Literal, Protocol, TypeVar

from companion.procedure.step_parts import Item
from companion.procedure.steps import Step
from companion.session.events import Opened
from companion.session.state import Here, Phase, State, replace
from companion.session.timers import Timer
from companion.speech.controls import right_or_wrong
from companion.speech.durations import said
from companion.speech.language import control_phrases, tell
from companion.speech.language.controls import Control
from companion.speech.value_phrases import say_value
from companion.speech.values import Value, ValueSpec

if TYPE_CHECKING:
    from companion.procedure.model import Procedure  # which is made of the kinds

S = TypeVar("S", bound=Step)

Tone = Literal["prompt", "caution", "answer", "read back", "refusal", "note"]


@dataclass(frozen=True)
class Say:
    """An effect: something to be spoken and shown."""

    text: str
    tone: Tone = "prompt"


@dataclass(frozen=True)
class Meaning:
    """What an allowed phrase means here. `secret` ones are sealed before anyone or anything sees them."""

    kind: Literal["confirm", "value", "agrees", "differs", "normal", "branch", "control"]
    arg: str = ""
    value: Value | None = None
    secret: bool = False


Phrases = Mapping[str, Meaning]
Where = tuple[str | int, ...]
"""The keys that lead to something inside a step of a file."""


@dataclass(frozen=True)
class Result:
    """What a step makes of an event. `done` confirms it; `branch` leaves for one, `note` marks it."""

    here: Here
    says: tuple[Say, ...] = ()
    done: bool = False
    note: str = ""
    branch: str | None = None
    values: Mapping[str, Value] | None = None
    seal: str | None = None
    checker: str | None = None


@dataclass(frozen=True)
class Turn(Generic[S]):
    """One step, in one state, at one moment."""

    procedure: "Procedure"
    state: State
    step: S
    at_ms: int

    @property
    def here(self) -> Here:
        return self.state.here

    @property
    def today(self) -> date:
        return date.fromisoformat(self.state.today)

    def filled(self, text: str) -> str:
        """`text` with `{name}` replaced by the reading, calculation or setting of that name."""
        return fill(text, self.procedure, self.state)

    def go(self, phase: Phase, *says: Say, **changes: object) -> Result:
        """Stay at the step in another phase."""
        return Result(replace(self.here, phase=phase, misses=0, silences=0, **changes), says)

    def stay(self, *says: Say) -> Result:
        """Stay as it is."""
        return Result(self.here, says)

    def finish(self, *says: Say, note: str = "", values: Mapping[str, Value] | None = None) -> Result:
        """The step is confirmed."""
        return Result(self.here, says, done=True, note=note, values=values)

    def leave(self, branch: str, *says: Say, note: str = "") -> Result:
        """Take a branch instead; the step is not confirmed."""
        return Result(self.here, says, branch=branch, note=note)

    def right_or_wrong(self) -> Phrases:
        """The two answers to a read-back, in every way they may be said."""
        return answers("right", "wrong", language=self.procedure.language)

    def heard(self, what: str) -> str:
        """The read-back of what was heard."""
        return self.tell("heard", what=what, question=right_or_wrong(self.procedure.language))

    def tell(self, key: str, **fields: object) -> str:
        """One of the program's own sentences, in the language of the procedure."""
        return tell(self.procedure.language, key, **fields)

    def said(self, seconds: int) -> str:
        """A length of time, in the language of the procedure."""
        return said(seconds, self.procedure.language)

    def shown(self, value: Value, spec: ValueSpec | None = None) -> str:
        """A value as a prompt shows it in the language of the procedure."""
        return shown(value, spec, self.procedure.language)


@cache
def answers(*controls: Control, language: str) -> Phrases:
    """The phrases of some controls."""
    words = control_phrases(language)
    return {word: Meaning("control", control) for control in controls for word in words[control]}


def shown(value: Value, spec: ValueSpec | None = None, language: str = "en-US") -> str:
    """A value as a prompt shows it: figures as figures, dates and times in words. The voice expands units itself."""
    if value.type == "number":
        return value.written()
    return tell(language, "tag", digits=value.text) if value.type == "tag" else say_value(value, spec, language)


def fill(text: str, procedure: "Procedure", state: State) -> str:
    """Fill `{name}`; a value not given yet reads as "not given yet" rather than as a guess."""
    if "{" not in text:
        return text
    settings = {setting.id: setting.value for setting in procedure.settings}

    def one(found: re.Match[str]) -> str:
        name = found[1]
        if name in state.values:
            return shown(state.values[name], language=procedure.language)
        return settings.get(name, tell(procedure.language, "not given yet"))

    return re.sub(r"\{([a-z0-9-]+)\}", one, text)


class Kind(Protocol[S]):
    """A kind of step. Stateless; everything it remembers is in `Here`."""

    @property
    def model(self) -> type[S]:
        """The step as a file states it; its `kind` is the name there."""

    def replies(self, step: S) -> Iterable[tuple[Where, tuple[str, ...], str]]:
        """The phrases that a file lists, each group with its keys and with what it means in a few words."""

    def values(self, step: S, procedure: "Procedure") -> Iterable[tuple[Where, ValueSpec]]:
        """What kinds of value may be given at all, with the keys that declare them."""

    def texts(self, step: S) -> Iterable[tuple[Where, str]]:
        """What is spoken besides what every step may have, with its keys."""

    def branches(self, step: S) -> Iterable[tuple[str, Where]]:
        """Each branch it can send the session into besides that of its rounds, with the keys that name it."""

    def ask(self, turn: Turn[S]) -> Result:
        """The step comes up, for the first time or afresh."""

    def phrases(self, turn: Turn[S]) -> Phrases:
        """What may be said now, besides controls and branches."""

    def apart(self, step: S, phrase: str) -> str:
        """What sets a phrase apart from others of the same meaning that lead elsewhere; nothing for most."""

    def rest(self, turn: Turn[S]) -> tuple[Item, ...]:
        """What is asked now and what the same step asks next, where one reply may answer several; nothing for most."""

    def spec(self, turn: Turn[S]) -> ValueSpec | None:
        """What kind of value is asked for now, or None when the reply is a phrase."""

    def own(self, procedure: "Procedure", step: S, given: Mapping[str, Value]) -> Value | None:
        """What the program works out for itself from the values given, by step; None where it cannot."""

    def question(self, turn: Turn[S], short: bool = False) -> str:
        """What is asked now, to be said again; `short` in fewer words."""

    def reply(self, turn: Turn[S], phrase: str, meaning: Meaning) -> Result:
        """An allowed phrase was given."""

    def sealed(self, turn: Turn[S], seal: str) -> Result:
        """A secret figure was given under seal."""

    def opened(self, turn: Turn[S], event: Opened) -> Result:
        """The seals that hang on this step are opened. Raises ValueError where they do not open."""

    def timers(self, turn: Turn[S]) -> Mapping[Timer, int]:
        """Timers that matter now, and the session time in ms at which each runs out."""

    def ahead(self, step: S, state: State) -> Mapping[Timer, int]:
        """Of a step that is not up yet: timers that run all the same, as in `timers`."""

    def time_up(self, turn: Turn[S], timer: Timer) -> Result:
        """One of them ran out."""


class Plain(Generic[S]):
    """The ordinary answers, for kinds without timers or seals. None for `replies`, which nobody shall forget."""

    def values(self, step: S, procedure: "Procedure") -> Iterable[tuple[Where, ValueSpec]]:
        if step.stated is not None:
            yield ("value",), step.stated
        if step.signed is not None:
            yield ("tag",), step.signed

    def texts(self, step: S) -> Iterable[tuple[Where, str]]:
        return ()

    def branches(self, step: S) -> Iterable[tuple[str, Where]]:
        return ()

    def ask(self, turn: Turn[S]) -> Result:
        return Result(Here(since_ms=turn.at_ms), prompt(turn))

    def apart(self, step: S, phrase: str) -> str:
        return ""

    def rest(self, turn: Turn[S]) -> tuple[Item, ...]:
        return ()

    def spec(self, turn: Turn[S]) -> ValueSpec | None:
        return None

    def own(self, procedure: "Procedure", step: S, given: Mapping[str, Value]) -> Value | None:
        return None

    def question(self, turn: Turn[S], short: bool = False) -> str:
        return turn.filled((turn.step.short or turn.step.title) if short else turn.step.say)

    def sealed(self, turn: Turn[S], seal: str) -> Result:
        raise ValueError(f"step {turn.step.id} takes no figure under seal (got {seal[:8]})")

    def opened(self, turn: Turn[S], event: Opened) -> Result:
        raise ValueError(f"step {turn.step.id} has no seal to open")

    def timers(self, turn: Turn[S]) -> Mapping[Timer, int]:
        return {}

    def ahead(self, step: S, state: State) -> Mapping[Timer, int]:
        return {}

    def time_up(self, turn: Turn[S], timer: Timer) -> Result:
        return turn.stay()


def prompt(turn: Turn[S], *more: str) -> tuple[Say, ...]:
    """The caution, then the prompt, then what a phase adds."""
    says = []
    if turn.step.caution:
        says.append(Say(turn.tell("caution", text=turn.filled(turn.step.caution)), "caution"))
    says.append(Say(turn.filled(turn.step.say)))
    says.extend(Say(turn.filled(text)) for text in more)
    return tuple(says)


def confirming(step: Step) -> Iterable[tuple[Where, tuple[str, ...], str]]:
    """`replies` of a kind whose phrases all confirm the step."""
    return [(("replies",), step.confirming, "confirms the step")]
