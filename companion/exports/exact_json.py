"""JSON in which a Decimal is a number with exactly its digits. A float would turn 0.18 into its neighbour."""

import json
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any


def exact_json(value: Any, indent: int = 0) -> str:
    """`value` as JSON, indented by two spaces a level. Raises TypeError for floats and anything else not plain."""
    pad, inner = "  " * indent, "  " * (indent + 1)
    if isinstance(value, Mapping):
        if not value:
            return "{}"
        items = (f"{inner}{json.dumps(key, ensure_ascii=False)}: {exact_json(value[key], indent + 1)}" for key in value)
        return "{\n" + ",\n".join(items) + f"\n{pad}}}"
    if isinstance(value, str) or value is None or isinstance(value, bool | int):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, Decimal) and value.is_finite():
        return format(value, "f")
    if isinstance(value, Sequence) and not isinstance(value, bytes):
        if not value:
            return "[]"
        items = (f"{inner}{exact_json(item, indent + 1)}" for item in value)
        return "[\n" + ",\n".join(items) + f"\n{pad}]"
    raise TypeError(f"{type(value).__name__} has no exact form in JSON")
