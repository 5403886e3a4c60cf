"""Reference libraries that the figures are held against."""

import importlib
import importlib.util
from typing import Any

from tests.realparts import need


def part(module: str, package: str) -> Any:
    """The module; the tests that call this are skipped where it is not installed, and fail so in CI."""
    need(importlib.util.find_spec(module.split(".", maxsplit=1)[0]) is not None, f"pip install {package}")
    return importlib.import_module(module)
