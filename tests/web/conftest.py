"""Fixtures for the tests of pages."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.web.browser import chromium


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One chromium for the tests of a file; each test opens pages of its own with `browser.new_page(...)`."""
    with chromium() as found:
        yield found
