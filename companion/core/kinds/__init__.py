"""The kinds of step, by the name they have in a procedure file."""

from companion.core.kinds.action import ActionKind
from companion.core.kinds.base import Kind
from companion.core.kinds.figures import CalculationKind, CheckKind
from companion.core.kinds.identification import IdentificationKind
from companion.core.kinds.observation import ObservationKind
from companion.core.kinds.paced import PacedKind
from companion.core.kinds.reading import ReadingKind
from companion.core.kinds.signature import SignatureKind
from companion.core.kinds.wait import WaitKind

CALCULATION = CalculationKind()
CHECK = CheckKind()

KINDS: dict[str, Kind] = {  # type: ignore[type-arg]  # each kind is paired with its own step class by the name
    "action": ActionKind(),
    "paced": PacedKind(),
    "reading": ReadingKind(),
    "identification": IdentificationKind(),
    "calculation": CALCULATION,
    "independent check": CHECK,
    "wait": WaitKind(),
    "observation": ObservationKind(),
    "signature": SignatureKind(),
}
