"""The kinds of step, by the name they have in a procedure file."""

from companion.procedure.kinds.action import ActionKind
from companion.procedure.kinds.base import Kind
from companion.procedure.kinds.identification import IdentificationKind
from companion.procedure.kinds.observation import ObservationKind
from companion.procedure.kinds.paced import PacedKind
from companion.procedure.kinds.reading import ReadingKind
from companion.procedure.kinds.signature import SignatureKind
from companion.procedure.kinds.wait import WaitKind
from companion.procedure.kinds.worked_out import CalculationKind, CheckKind

KINDS: dict[str, Kind] = {  # type: ignore[type-arg]  # each kind is paired with its own step class by the name
    "action": ActionKind(),
    "paced": PacedKind(),
    "reading": ReadingKind(),
    "identification": IdentificationKind(),
    "calculation": CalculationKind(),
    "independent check": CheckKind(),
    "wait": WaitKind(),
    "observation": ObservationKind(),
    "signature": SignatureKind(),
}
