"""The steps of a procedure, of a few kinds, and what may be asked of each of them whatever its kind."""

from typing import Annotated, ClassVar

from pydantic import StringConstraints

from companion.procedure.step_parts import (
    After,
    Every,
    Item,
    Long,
    Slug,
    Text,
    When,
)
from companion.speech.values import Frozen, TagValue, ValueSpec


class Step(Frozen):
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
    kind: str

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
