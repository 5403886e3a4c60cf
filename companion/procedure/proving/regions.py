"""Which values a procedure tells apart: those that lie between the same limits, or stand in the same lists."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal

from pydantic import BaseModel

from companion.procedure.kinds.reading import limits_beside
from companion.procedure.model import Procedure
from companion.procedure.step_parts import Alert
from companion.speech.value_phrases import values_of
from companion.speech.values import Value, ValueSpec


class Regions:
    """One value for each region of a procedure's values.

    Limits are whatever stands in the file as `below`, `above` or `is`: of the step itself, or of the step named `of`.
    """

    def __init__(self, procedure: Procedure, today: date) -> None:
        self._today = today
        self._limits: dict[str, list[BaseModel]] = {}
        for step in procedure.all_steps():
            for limit in _limits(step):
                self._limits.setdefault(getattr(limit, "of", step.id), []).append(limit)
        self._all: dict[ValueSpec, tuple[Value, ...]] = {}
        self._made: dict[tuple[str, ValueSpec, tuple[Value | None, ...]], tuple[Value, ...]] = {}

    def values(self, step_id: str, spec: ValueSpec, given: Mapping[str, Value]) -> tuple[Value, ...]:
        """One value, from the middle, of each region of a step's values; `given` has those that limits stand beside."""
        limits = self._limits.get(step_id, [])
        bases = tuple(_base(limit, given) for limit in limits)
        key = (step_id, spec, bases)
        if key not in self._made:
            regions: dict[tuple[object, ...], list[Value]] = {}
            for value in self._every(spec):
                side = tuple(
                    part for limit, base in zip(limits, bases, strict=True) for part in self._side(value, limit, base)
                )
                regions.setdefault(side, []).append(value)
            self._made[key] = tuple(region[len(region) // 2] for region in regions.values())
        return self._made[key]

    def of(self, spec: ValueSpec, values: Iterable[Value]) -> list[Value]:
        """Those of `values` that may be given where `spec` is asked for."""
        return [value for value in values if value in self._every(spec)]

    def another(self, spec: ValueSpec, known: Iterable[Value]) -> Iterator[Value]:
        """A value that is none of those, where there is one."""
        texts = {value.text for value in known}
        yield from [value for value in self._every(spec) if value.text not in texts][:1]

    def _every(self, spec: ValueSpec) -> tuple[Value, ...]:
        if spec not in self._all:
            self._all[spec] = tuple(values_of(spec, self._today))
        return self._all[spec]

    def _side(self, value: Value, limit: BaseModel, base: Value | None) -> Iterator[object]:
        """On which side of a limit a value lies."""
        yield value.text in getattr(limit, "is_", ())
        if base is not None and base.type == "choice":
            yield value.text == base.text
        amount = self._amount(value)
        if amount is not None:
            below, above = _cuts(limit, base)
            yield below is not None and amount < below, above is not None and amount > above

    def _amount(self, value: Value) -> Decimal | None:
        if value.type == "date":
            return Decimal((date.fromisoformat(value.text) - self._today).days)
        return value.decimal() if value.type == "number" else None


def _limits(part: object) -> Iterator[BaseModel]:
    """Whatever in a step sets a limit to a value."""
    if isinstance(part, BaseModel):
        names = type(part).model_fields
        if "is_" in names or "below" in names or "above" in names:
            yield part
        for name in names:
            yield from _limits(getattr(part, name))
    elif isinstance(part, tuple):
        for each in part:
            yield from _limits(each)


def _base(limit: BaseModel, given: Mapping[str, Value]) -> Value | None:
    """What a limit stands beside."""
    beside = getattr(limit, "beside", None)
    return given.get(beside) if beside is not None else None


def _cuts(limit: BaseModel, base: Value | None) -> tuple[Decimal | None, Decimal | None]:
    """Under which figure, and over which, a value does not keep a limit."""
    below, above = getattr(limit, "below", None), getattr(limit, "above", None)
    if isinstance(limit, Alert) and base is not None and base.type == "number":
        start = base.decimal()
        below, above = limits_beside(limit, start)
        return None if below is None else start + below, None if above is None else start + above
    return below, above
