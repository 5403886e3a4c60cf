"""The shipped JSON Schema is current, valid by two drafts, and agrees with the loader on shape."""

from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from companion.procedure.loading.schema import NAME, schema, write
from tests.procedure.broken import WHOLE, broken

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "procedures" / NAME
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


def test_the_shipped_schema_is_current(tmp_path: Path) -> None:
    """When this fails, run `python -m companion.procedure.loading.schema`."""
    write(tmp_path)
    assert SHIPPED.read_bytes() == (tmp_path / NAME).read_bytes()


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_every_procedure_is_valid(validator: Any, path: Path) -> None:
    assert [error.message for error in validator.iter_errors(read(path))] == []


@pytest.mark.parametrize("name", SHAPE)
def test_a_broken_shape_is_not(validator: Any, name: str, tmp_path: Path) -> None:
    assert not validator.is_valid(read(broken(name, tmp_path)))
