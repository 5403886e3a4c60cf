"""No test sees the keys of the person who runs it."""

from tests.record.conftest import home

__all__ = ["home"]
