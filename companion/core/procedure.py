"""The frozen model of a procedure: steps of a few kinds, their order, and what can go wrong."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StringConstraints

from companion.core.durations import parse_seconds
from companion.core.values import Frozen, Number, NumberValue, TagValue, ValueSpec

Slug = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=60)]
"""A name in a file: lower-case words joined by hyphens, such as `draw-up`."""

Phrase = Annotated[
    str,
    StringConstraints(pattern=r"^[^\W\d_A-Z]+(['’]?[^\W\d_A-Z]+)*( [^\W\d_A-Z]+(['’]?[^\W\d_A-Z]+)*){0,7}$"),
]
"""Something said whole: one to eight lower-case words without figures or punctuation."""

Text = Annotated[str, StringConstraints(min_length=1, max_length=200)]
"""Something spoken and shown; 200 characters fit the screen at two metres."""

Long = Annotated[str, StringConstraints(min_length=1, max_length=1000)]
Seconds = Annotated[int, BeforeValidator(parse_seconds), Field(ge=1, le=7200)]
"""A duration written `20 s` or `2 min`, kept as whole seconds."""


class Source(Frozen):
    """A published source; `id` is how steps cite it."""

    id: Slug
    title: Long
    where: str = ""


class Setting(Frozen):
    """A figure local policy decides. Steps use it as `$id`, prompts as `{id}`."""

    id: Slug
    value: str
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


class After(Frozen):
    """`step` must have come first, and why."""

    step: Slug
    because: Text


class Alert(Frozen):
    """A value that sends the session into a branch: below or above a limit, or one of the choices.

    For dates the limits are whole days from the day of the session. With `beside` they are counted from the figure of
    that step: `above: 2` is more than 2 over it, `below: -2` more than 2 under it.
    """

    branch: Slug
    below: Number | None = None
    above: Number | None = None
    beside: Slug | None = None
    is_: tuple[str, ...] = Field(default=(), alias="is")


class Item(Frozen):
    """One thing checked apart, said as agreeing or not."""

    id: Slug
    say: Text
    agrees: tuple[Phrase, ...] = Field(min_length=1)
    differs: tuple[Phrase, ...] = Field(min_length=1)


class Abnormal(Frozen):
    """Answers to an observation that take a branch."""

    branch: Slug
    replies: tuple[Phrase, ...] = Field(min_length=1)


class Settled(Frozen):
    """Answers to an observation that hold only once one of `branches` was taken there and has come back."""

    branches: tuple[Slug, ...] = Field(min_length=1)
    replies: tuple[Phrase, ...] = Field(min_length=1)


class Unless(Frozen):
    """A value that speaks against a normal answer: while that of step `of` lies `below` or `above`, or is one of the
    choices `is`, the answer takes `branch` instead, until the branch has come back."""

    branch: Slug
    of: Slug
    below: Number | None = None
    above: Number | None = None
    is_: tuple[str, ...] = Field(default=(), alias="is")


class StepBase(Frozen):
    """What every step has. `say` is the prompt, `short` the prompt when asked again; `ideas` are the ways in which a
    student who talks from memory may say it (`core/talk/ways.py` tells how they are written)."""

    id: Slug
    title: Annotated[str, StringConstraints(min_length=1, max_length=60)]
    say: Text
    short: Text | None = None
    critical: bool = False
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
    """A second person, named by tag and not the performer, states their own figure for calculation `of`."""

    kind: Literal["independent check"]
    of: Slug
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
    | SignatureStep,
    Field(discriminator="kind"),
]


class Ending(Frozen):
    """How a branch ends. `again` starts again from `step`, never from a later one than was reached."""

    do: Literal["return", "again", "abandon"]
    step: Slug | None = None
    reason: Text | None = None


class Branch(Frozen):
    """What to do when something goes wrong. `heard` are the words that take it; `at` limits where they count."""

    id: Slug
    title: Annotated[str, StringConstraints(min_length=1, max_length=60)]
    heard: tuple[Phrase, ...] = ()
    at: tuple[Slug, ...] = ()
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

    def all_steps(self) -> Iterator[Step]:
        """Every step, the guided order first, then each branch's."""
        yield from self.steps
        for branch in self.branches:
            yield from branch.steps

    def step(self, step_id: str) -> Step:
        """The step of that id. Raises KeyError."""
        for step in self.all_steps():
            if step.id == step_id:
                return step
        raise KeyError(step_id)

    def branch(self, branch_id: str) -> Branch:
        """The branch of that id. Raises KeyError."""
        for branch in self.branches:
            if branch.id == branch_id:
                return branch
        raise KeyError(branch_id)

    def check_of(self, calculation: str) -> CheckStep | None:
        """The independent check that looks at a calculation, if there is one."""
        for step in self.all_steps():
            if isinstance(step, CheckStep) and step.of == calculation:
                return step
        return None
