"""Real chromium for the tests of pages: Debian's, driven by playwright."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

from tests.realparts import need

LAPTOP = {"width": 1366, "height": 768}
"""CSS pixels of the smallest screen the pages are made for (a 14-inch laptop)."""

FULL_HD = {"width": 1920, "height": 1080}

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
"""axe-core's tags for the rules of WCAG 2.2, levels A and AA; `wcag22aa` alone holds only what 2.2 added."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser for the length of the block; skips the test (fails it in CI) where there is none."""
    path = os.environ.get("COMPANION_CHROMIUM") or shutil.which("chromium")
    need(path is not None and Path(path).exists(), "no chromium: sudo apt-get install chromium")
    need(find_spec("playwright") is not None, "no playwright: pip install playwright")
    # Chromium's own sandbox does not start for root, which is who runs in a container.
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"] if root else [])
        try:
            yield browser
        finally:
            browser.close()


def violations(page: Page) -> list[str]:
    """What axe finds against WCAG 2.2 A and AA, one line each; empty when it finds nothing."""
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}}).response["violations"]
    return [f"{rule['id']}: {node['html'][:120]}" for rule in found for node in rule["nodes"]]


def schemes_with_violations(page: Page) -> dict[str, list[str]]:
    """The same in light and in dark, for a page that stands still; empty when there are none in either."""
    found = {}
    papers = set()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        papers.add(page.evaluate("getComputedStyle(document.documentElement).backgroundColor"))
        found[scheme] = violations(page)
    assert len(papers) == 2, "the page knows no dark"
    return {scheme: lines for scheme, lines in found.items() if lines}
