"""What an educator makes of a session: a checklist, a global rating, remarks. Pure data.

People are named by tag only. The four global ratings and the borderline among them are those that borderline
regression needs (Hejri et al., J Res Med Sci 2013;18:887-91); three marks an item are common practice.
"""

from collections.abc import Mapping
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, StringConstraints, ValidationError

from companion.errors import UsageError
from companion.procedure.step_parts import Slug
from companion.speech.values import Frozen

Mark = Literal["done", "in part", "not done"]
MARKS: tuple[Mark, ...] = get_args(Mark)
WORTH: Mapping[str, float] = {"done": 1.0, "in part": 0.5, "not done": 0.0}

Decision = Literal["said", "not said"]
"""What an educator makes of a step that was perhaps said."""

RATINGS: Mapping[int, str] = {1: "fail", 2: "borderline", 3: "pass", 4: "very good"}
BORDERLINE = 2

Remark = Annotated[str, StringConstraints(max_length=1000, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$")]
Tag = Annotated[str, StringConstraints(pattern=r"^[0-9]{2,3}$")]
"""A staff tag as it is said: two or three digits."""


class ItemMark(Frozen):
    """One step of the checklist."""

    step: Slug
    mark: Mark | None = None
    """None where it was not judged."""
    remark: Remark = ""
    decision: Decision | None = None
    """Where the program was in doubt whether the step was said; None where it was not decided."""


class Marks(Frozen):
    """One marker's view of one session."""

    marker: Tag
    items: Annotated[tuple[ItemMark, ...], Field(max_length=500)] = ()
    rating: Annotated[int, Field(ge=1, le=4)] | None = None
    """A key of `RATINGS`; None where none was given."""
    remark: Remark = ""

    def of(self, step: str) -> ItemMark | None:
        """The mark of one step."""
        return next((item for item in self.items if item.step == step), None)

    @property
    def judged(self) -> dict[str, Mark]:
        """The steps that were judged, by id."""
        return {item.step: item.mark for item in self.items if item.mark is not None}

    @property
    def decisions(self) -> dict[str, Decision]:
        """The steps in doubt that were decided, by id."""
        return {item.step: item.decision for item in self.items if item.decision is not None}

    def deciding(self, decisions: Mapping[str, Decision]) -> "Marks":
        """The same with these decisions in place of those it had, and every mark and remark as it was."""
        kept = {item.step: item.model_copy(update={"decision": None}) for item in self.items}
        for step, decision in decisions.items():
            kept[step] = kept.get(step, ItemMark(step=step)).model_copy(update={"decision": decision})
        return self.model_copy(update={"items": tuple(kept.values())})

    @property
    def score(self) -> float | None:
        """Per cent of what could be had: an item done in part counts half. None where nothing was judged."""
        worth = [WORTH[mark] for mark in self.judged.values()]
        return 100 * sum(worth) / len(worth) if worth else None

    @property
    def texts(self) -> tuple[tuple[str, str], ...]:
        """Every remark, with the id of its step; empty for the one on the whole."""
        found = [(item.step, item.remark) for item in self.items] + [("", self.remark)]
        return tuple((step, text) for step, text in found if text)


def marks_from(given: Mapping[str, Any]) -> Marks:
    """Marks from plain values, as a form or a file has them. Raises UsageError naming the first that does not fit."""
    try:
        marks = Marks.model_validate(dict(given))
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_context=False)[0]
        place = first["loc"][0] if first["loc"] else ""
        what = {
            "marker": "the marker's tag: two or three digits are accepted",
            "rating": "the global rating: 1 to 4 is accepted",
            "remark": "a remark: up to 1,000 characters of plain text are accepted",
            "items": "a step's mark: done, in part or not done, a decision of said or not said, and a remark of up "
            "to 1,000 characters are accepted",
        }.get(str(place), f"{place}: no such part of a marking")
        raise UsageError(what) from fault
    steps = [item.step for item in marks.items]
    twice = next((step for step in steps if steps.count(step) > 1), None)
    if twice is not None:
        raise UsageError(f"a step's mark: `{twice}` is marked twice; one mark a step is accepted")
    return marks
