"""The frozen model of a procedure: steps of a few kinds, their order, and what can go wrong."""

from collections.abc import Iterator
from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from companion.procedure.always import Rule
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
from companion.speech.values import Frozen, Number, NumberValue, TagValue, ValueSpec


class Source(Frozen):
    """A published source; `id` is how steps cite it."""

    id: Slug
    title: Long
    where: str = ""


class Setting(Frozen):
    """A figure local policy decides. Steps use it as `$id`, prompts as `{id}`. `rehearsed` is its value where somebody
    rehearses from memory and local policy says nothing."""

    id: Slug
    value: str
    rehearsed: str | None = None
    about: Long
    least: Number | None = None
    most: Number | None = None
    choices: tuple[str, ...] = ()


class Person(Frozen):
    """A part somebody plays; people are named only by tag."""

    id: Slug
    does: Text


Route = Literal["subcutaneous", "intramuscular", "intradermal", "intravenous", "oral", "inhaled"]


class Medicine(Frozen):
    """What is given, by which way, and the steps that say how much, where and when.

    `dose` is a reading of a number, `kind` and `site` are readings of a choice, `given` confirms that it went in.
    """

    name: Annotated[str, StringConstraints(min_length=1, max_length=80)]
    route: Route
    dose: Slug
    given: Slug
    kind: Slug | None = None
    site: Slug | None = None


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


class ActionStep(StepBase):
    """Do it, then confirm it aloud. A critical one has content in its reply, or is read back."""

    kind: Literal["action"]
    replies: tuple[Phrase, ...] = Field(min_length=1)
    read_back: bool = False
    every: Every | None = None


class PacedStep(StepBase):
    """`parts` told one after the other, `pace` apart, and one reply at the end.

    A reply before the last part was told is not taken, unless `early`. Asked anew it begins with the first part.
    """

    kind: Literal["paced"]
    parts: tuple[Text, ...] = Field(min_length=2, max_length=20)
    pace: Seconds
    replies: tuple[Phrase, ...] = Field(min_length=1)
    early: bool = False


class ReadingStep(StepBase):
    """Say a value; it is read back and then stands under the step's id."""

    kind: Literal["reading"]
    value: ValueSpec
    read_back: bool = True
    alerts: tuple[Alert, ...] = ()


class IdentificationStep(StepBase):
    """The first `count` of `items`, each confirmed apart; one that differs stops the work."""

    kind: Literal["identification"]
    count: int = Field(ge=1)
    items: tuple[Item, ...] = Field(min_length=1)
    mismatch: Slug


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


class CheckStep(StepBase):
    """A second person, named by tag and not the performer, states their own figure for calculation `of`, or says what
    they see themselves where the performer gave reading `of`; `ask` is what they are asked."""

    kind: Literal["independent check"]
    of: Slug
    ask: Text | None = None
    tag: TagValue = TagValue(type="tag")
    disagree: Slug


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


class SignatureStep(StepBase):
    """Who did it: the performer's own tag, said again. The last one closes the record."""

    kind: Literal["signature"]
    tag: TagValue = TagValue(type="tag")


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


class Ending(Frozen):
    """How a branch ends. `again` starts again from `step`, never from a later one than was reached."""

    do: Literal["return", "again", "abandon"]
    step: Slug | None = None
    reason: Text | None = None


class Branch(Frozen):
    """What to do when something goes wrong. `heard` are the words that take it, at any moment from the first step on;
    `at` limits where they count. An `emergency` is told first of those that count anywhere.

    It is taken `most` times in a session; from then on `then` is taken in its place.
    """

    id: Slug
    title: Annotated[str, StringConstraints(min_length=1, max_length=60)]
    heard: tuple[Phrase, ...] = ()
    at: tuple[Slug, ...] = ()
    emergency: bool = False
    most: int | None = Field(default=None, ge=1, le=100)
    then: Slug | None = None
    steps: tuple[Step, ...] = Field(min_length=1)
    ends: Ending


class Procedure(Frozen):
    """A whole procedure as its file states it, settings already filled in."""

    format: Literal["1"]
    id: Slug
    title: Annotated[str, StringConstraints(min_length=1, max_length=80)]
    language: str = "en-US"
    version: str = "1"
    summary: Long
    cautions: tuple[Long, ...] = ()
    local_policy: tuple[Long, ...] = ()
    sources: tuple[Source, ...] = ()
    settings: tuple[Setting, ...] = ()
    people: tuple[Person, ...] = ()
    medicine: Medicine | None = None
    steps: tuple[Step, ...] = Field(min_length=1)
    branches: tuple[Branch, ...] = ()
    always: tuple[Rule, ...] = ()

    def all_steps(self) -> Iterator[Step]:
        """Every step, the guided order first, then each branch's."""
        yield from self.steps
        for branch in self.branches:
            yield from branch.steps

    def step(self, step_id: str) -> Step:
        """The step of that id. Raises KeyError."""
        return self._steps_by_id[step_id]

    def branch(self, branch_id: str) -> Branch:
        """The branch of that id. Raises KeyError."""
        return self._branches_by_id[branch_id]

    @cached_property
    def _steps_by_id(self) -> dict[str, Step]:
        return {step.id: step for step in reversed(list(self.all_steps()))}  # the first of a name counts

    @cached_property
    def _branches_by_id(self) -> dict[str, Branch]:
        return {branch.id: branch for branch in reversed(self.branches)}

    def check_of(self, calculation: str) -> CheckStep | None:
        """The independent check that looks at a calculation, if there is one."""
        for step in self.all_steps():
            if isinstance(step, CheckStep) and step.of == calculation:
                return step
        return None
