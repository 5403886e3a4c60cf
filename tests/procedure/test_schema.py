"""The shipped JSON Schema is current, valid by two drafts, and agrees with the loader on shape."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from companion.procedure.loading import schema
from tests.procedure.broken import WHOLE, broken

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "procedures" / "procedure.schema.json"
GOOD = [*sorted((ROOT / "procedures").glob("*.yaml")), WHOLE]
SHAPE = ["unknown-key", "missing-key", "missing-kind", "unknown-kind", "not-a-list", "phrase-with-figure"]
SHAPE += ["prompt-too-long", "empty-text", "bad-duration", "wrong-format"]


def read(path: Path) -> Any:
    """As an editor reads it."""
    return yaml.safe_load(path.read_text(encoding="utf-8"))


@pytest.fixture(params=["2020-12", "draft-07"])
def validator(request: pytest.FixtureRequest) -> Any:
    body = schema()
    if request.param == "2020-12":
        jsonschema.Draft202012Validator.check_schema(body)
        return jsonschema.Draft202012Validator(body)
    jsonschema.Draft7Validator.check_schema(body)
    return jsonschema.Draft7Validator(body)


def test_the_shipped_schema_is_current() -> None:
    """When this fails, write `json.dumps(schema(), indent=2, ensure_ascii=False)` and a line end to the file."""
    assert SHIPPED.read_text(encoding="utf-8") == json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_every_procedure_is_valid(validator: Any, path: Path) -> None:
    assert [error.message for error in validator.iter_errors(read(path))] == []


@pytest.mark.parametrize("name", SHAPE)
def test_a_broken_shape_is_not(validator: Any, name: str, tmp_path: Path) -> None:
    assert not validator.is_valid(read(broken(name, tmp_path)))
