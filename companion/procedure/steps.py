"""The steps of a procedure, of a few kinds, and what may be asked of each of them whatever its kind."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StringConstraints

from companion.procedure.step_parts import (
    Abnormal,
    After,
    Alert,
    Every,
    Item,
    Long,
    Phrase,
    Seconds,
    Settled,
    Slug,
    Text,
    Unless,
    When,
)
from companion.speech.values import Frozen, NumberValue, TagValue, ValueSpec


class StepBase(Frozen):
    """What every step has. `say` is the prompt, `short` the prompt when asked again.

    A step whose `when` does not hold is passed over, and what comes `after` it need not wait. `ideas` are the ways in
    which a student who talks from memory may say it (`meaning/ways.py` tells how they are written).
    """

    id: Slug
    title: Annotated[str, StringConstraints(min_length=1, max_length=60)]
    say: Text
    short: Text | None = None
    critical: bool = False
    when: When | None = None
    after: tuple[After, ...] = ()
    caution: Text | None = None
    reason: Long | None = None
    hint: Text | None = None
    sources: tuple[Slug, ...] = ()
    ideas: tuple[Annotated[str, StringConstraints(min_length=2, max_length=400)], ...] = ()

    tells_parts: ClassVar[bool] = False
    """Whether it tells its parts by itself, which are all told again where it is to be repeated."""
    worked_out: ClassVar[bool] = False
    """Whether its value is a figure that people work out."""

    @property
    def stated(self) -> ValueSpec | None:
        """The value that the performer states here, read off or worked out."""
        return None

    @property
    def signed(self) -> TagValue | None:
        """The tag with which the performer signs here."""
        return None

    @property
    def checks(self) -> str:
        """Id of the step whose value a second person states for themselves here, or nothing."""
        return ""

    @property
    def asked_apart(self) -> tuple[Item, ...]:
        """What is asked here one after the other, each with its own answer."""
        return ()

    @property
    def confirming(self) -> tuple[str, ...]:
        """The phrases that say that all is done, or as it should be."""
        return ()

    @property
    def known_by(self) -> tuple[str, ...]:
        """Words of its own, beside prompt and title, in which it is talked of."""
        return self.confirming

    @property
    def shortest(self) -> int:
        """The time in seconds that has to pass here before it can be confirmed, spent in silence; 0 for none."""
        return 0

    @property
    def counted_from(self) -> str:
        """Id of the step since which its time runs, even before it is up; nothing where it has to be up."""
        return ""

    @property
    def rounds(self) -> Every | None:
        """What is said again and again until the answer comes."""
        return None

    @property
    def runs_on(self) -> bool:
        """Whether its time runs on through a break."""
        return self.rounds is not None


class ActionStep(StepBase):
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


class PacedStep(StepBase):
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


class ReadingStep(StepBase):
    """Say a value; it is read back and then stands under the step's id."""

    kind: Literal["reading"]
    value: ValueSpec
    read_back: bool = True
    alerts: tuple[Alert, ...] = ()

    @property
    def stated(self) -> ValueSpec | None:
        return self.value


class IdentificationStep(StepBase):
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


class CalculationStep(StepBase):
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


class CheckStep(StepBase):
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


class WaitStep(StepBase):
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


class ObservationStep(StepBase):
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


class SignatureStep(StepBase):
    """Who did it: the performer's own tag, said again. The last one closes the record."""

    kind: Literal["signature"]
    tag: TagValue = TagValue(type="tag")

    @property
    def signed(self) -> TagValue | None:
        return self.tag


Step = Annotated[
    ActionStep
    | ReadingStep
    | IdentificationStep
    | CalculationStep
    | CheckStep
    | WaitStep
    | ObservationStep
    | PacedStep
    | SignatureStep,
    Field(discriminator="kind"),
]
