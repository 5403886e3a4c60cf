"""The shape of a procedure file as JSON Schema, for editors' completion and for validation elsewhere.

`python -m companion.procedure.loading.schema` writes it beside the library's procedures.
"""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from companion.datafiles import packaged
from companion.procedure.model import Procedure
from companion.procedure.step_parts import Seconds

NAME = "procedure.schema.json"

_REFERENCE = {"type": "string", "pattern": "^\\$[a-z][a-z0-9]*(-[a-z0-9]+)*$"}
_PLAIN_NUMBER = {"type": "string", "pattern": "^-?(0|[1-9][0-9]*)(\\.[0-9]*[1-9])?$"}
_DURATION = TypeAdapter(Seconds).json_schema()
# Editors read a bare figure or yes as a number or a truth; the loader reads the text that was written.
_ANY_SCALAR = {"type": ["string", "number", "boolean"]}


def schema() -> dict[str, Any]:
    """JSON Schema 2020-12, kept to the part that draft-07 shares. What only the whole file can tell is not in it."""
    body = Procedure.model_json_schema(by_alias=True)
    for name, definition in [("", body), *body["$defs"].items()]:
        for key, field in definition.get("properties", {}).items():
            definition["properties"][key] = _field(name, key, field)
    number = body["$defs"]["NumberValue"]
    number["required"] = [key for key in number["required"] if key not in ("least", "most")]
    body["properties"]["format"] = {"enum": ["1", 1]}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$comment": "Written by `python -m companion.procedure.loading.schema`; every value may also be `$setting`.",
        **_tidy(body),
    }


def write(folder: Path) -> None:
    """Put the schema into a folder, under its name."""
    text = json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"
    (folder / NAME).write_text(text, encoding="utf-8", newline="\n")


def _field(owner: str, key: str, field: dict[str, Any]) -> dict[str, Any]:
    if any(_DURATION.items() <= kind.items() for kind in (field, *field.get("anyOf", ()))):
        return {"anyOf": [_DURATION, _REFERENCE]}
    if (owner, key) in (("Setting", "value"), ("", "version")):
        return _ANY_SCALAR
    if key == "choices":
        return {**field, "items": _ANY_SCALAR}
    return _scalars(field)


def _scalars(field: dict[str, Any]) -> dict[str, Any]:
    """Numbers and truths may also be written as text or taken from a setting."""
    if "anyOf" in field:
        kinds = [kind for kind in field["anyOf"] if kind.get("type") != "null"]
        if any(kind.get("type") in ("number", "integer") for kind in kinds):
            return {"anyOf": [{"type": "number"}, _PLAIN_NUMBER, _REFERENCE]}
        return kinds[0] if len(kinds) == 1 else {"anyOf": kinds}
    if field.get("type") in ("number", "integer"):
        limits = {name: field[name] for name in ("type", "minimum", "maximum", "exclusiveMinimum") if name in field}
        return {"anyOf": [limits, _PLAIN_NUMBER, _REFERENCE]}
    if field.get("type") == "boolean":
        return {"anyOf": [{"type": "boolean"}, {"enum": ["yes", "no", "on", "off", "true", "false"]}, _REFERENCE]}
    return field


def _tidy(node: Any) -> Any:
    """Without what editors show twice, OpenAPI's own words, and defaults."""
    if isinstance(node, dict):
        dropped = ("discriminator", "default") if "properties" not in node else ("discriminator",)
        rest = {key: _tidy(value) for key, value in node.items() if key not in dropped}
        if isinstance(rest.get("title"), str) and "properties" not in node:
            del rest["title"]
        return rest
    return [_tidy(item) for item in node] if isinstance(node, list) else node


if __name__ == "__main__":
    write(packaged("procedures"))
