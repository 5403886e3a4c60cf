"""Fixtures for the tests of pages."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.web.browser import chromium

expect.set_options(timeout=30_000)
"""How long a page may take to show something, on a machine that does much else."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One chromium for the tests of a file; each test opens pages of its own with `browser.new_page(...)`."""
    with chromium() as found:
        yield found
