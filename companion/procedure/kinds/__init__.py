"""The kinds of step, one entry each, by the name that a procedure file has for them."""

from typing import TYPE_CHECKING, Annotated, Union, get_args

from pydantic import Field

from companion.procedure.kinds.action import ActionKind
from companion.procedure.kinds.base import Kind
from companion.procedure.kinds.identification import IdentificationKind
from companion.procedure.kinds.observation import ObservationKind
from companion.procedure.kinds.paced import PacedKind
from companion.procedure.kinds.reading import ReadingKind
from companion.procedure.kinds.signature import SignatureKind
from companion.procedure.kinds.wait import WaitKind
from companion.procedure.kinds.worked_out import CalculationKind, CheckKind
from companion.procedure.steps import Step

_KINDS: tuple[Kind, ...] = (  # type: ignore[type-arg]  # each kind is paired with its own step class
    ActionKind(),
    ReadingKind(),
    IdentificationKind(),
    CalculationKind(),
    CheckKind(),
    WaitKind(),
    ObservationKind(),
    PacedKind(),
    SignatureKind(),
)


def _name(model: type[Step]) -> str:
    """What stands under `kind` in a file."""
    (name,) = get_args(model.model_fields["kind"].annotation)
    return str(name)


KINDS = {_name(kind.model): kind for kind in _KINDS}

if TYPE_CHECKING:
    AnyStep = Step
else:
    AnyStep = Annotated[Union[tuple(kind.model for kind in _KINDS)], Field(discriminator="kind")]  # noqa: UP007
"""A step of whichever kind its file says."""
