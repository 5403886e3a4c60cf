"""Waiting for a real part: a process, a sound card. Never for a clock that could be passed in."""

import time
from collections.abc import Callable


def until(happened: Callable[[], bool], limit_s: float) -> float:
    """Wait until `happened()`; the seconds it took. Fails the test after `limit_s`."""
    start = time.monotonic()
    while not happened():
        passed = time.monotonic() - start
        assert passed < limit_s, f"it did not happen within {limit_s} s"
        time.sleep(0.005)
    return time.monotonic() - start
