"""Real parts a test needs: skipped with the reason where missing, a failure in CI."""

import os

import pytest


def need(present: bool, reason: str) -> None:
    """Skip the test unless `present`; in CI fail instead, so that a required part is never lost silently."""
    if present:
        return
    if os.environ.get("CI") == "true":
        pytest.fail(f"required in CI: {reason}")
    pytest.skip(reason)
