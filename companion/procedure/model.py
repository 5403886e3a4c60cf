"""The frozen model of a procedure: steps of a few kinds, their order, and what can go wrong."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from companion.procedure.always import Rule
from companion.procedure.kinds import AnyStep
from companion.procedure.step_parts import Long, Phrase, Slug, Text
from companion.procedure.steps import Step
from companion.speech.values import Frozen, Number


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
    steps: tuple[AnyStep, ...] = Field(min_length=1)
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
    steps: tuple[AnyStep, ...] = Field(min_length=1)
    branches: tuple[Branch, ...] = ()
    always: tuple[Rule, ...] = ()

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

    def check_of(self, calculation: str) -> Step | None:
        """The independent check that looks at a calculation, if there is one."""
        for step in self.all_steps():
            if step.checks == calculation:
                return step
        return None
