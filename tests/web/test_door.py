"""Coming in with a real browser."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from companion.web.pages import page
from companion.web.server import LocalServer
from tests.web.browser import violations


async def _inside(_: Request) -> Response:
    return page("door.html")


@pytest.fixture
def server() -> Iterator[LocalServer]:
    with LocalServer([Route("/", _inside), Route("/further", _inside)]) as running:
        yield running


@pytest.mark.parametrize("path", ["/", "/further?class=a"])
def test_the_address_opens_the_page_and_loses_its_token(server: LocalServer, browser: Browser, path: str) -> None:
    tab = browser.new_page()
    statuses: list[int] = []
    tab.on("response", lambda answer: statuses.append(answer.status) if answer.url.endswith(path) else None)
    tab.goto(server.address(path))
    inside = server.origin + server.door.root + path
    expect(tab).to_have_url(inside)
    tab.wait_for_load_state()
    tab.reload()
    assert statuses[0] == 403 and statuses[-1] == 200
    tab.goto(server.origin + path)
    expect(tab).to_have_url(inside)  # whoever has come in may type the bare address
    (cookie,) = tab.context.cookies()
    assert cookie.get("httpOnly") and cookie.get("sameSite") == "Strict"
    assert tab.evaluate("document.cookie") == "", "no script can read it"
    tab.close()


def test_a_used_address_says_so_to_another_browser(server: LocalServer, browser: Browser) -> None:
    address = server.address()
    first, second = browser.new_context().new_page(), browser.new_context().new_page()
    first.goto(address)
    expect(first).to_have_url(f"{server.origin}{server.door.root}/")
    first.wait_for_load_state("networkidle")
    second.goto(address)
    expect(second.get_by_role("status")).to_contain_text("used already")
    second.goto(first.url)
    expect(second.get_by_role("status")).to_contain_text("the address the program printed")
    first.goto(address)
    expect(first).to_have_url(f"{server.origin}{server.door.root}/")  # the same browser comes in again
    for tab in (first, second):
        tab.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_door_has_no_barrier(server: LocalServer, browser: Browser, scheme: str) -> None:
    tab = browser.new_page(color_scheme=scheme)  # type: ignore[arg-type]
    tab.goto(server.origin)
    assert violations(tab) == []
    tab.close()


def test_nothing_inline_runs(server: LocalServer, browser: Browser) -> None:
    tab = browser.new_page()
    tab.goto(server.address())
    expect(tab).to_have_url(f"{server.origin}{server.door.root}/")
    tab.wait_for_load_state("networkidle")
    tab.evaluate(
        """() => {
          const script = document.createElement("script");
          script.textContent = "window.ran = true";
          document.body.append(script);
          document.body.insertAdjacentHTML("beforeend", "<p id='s' style='color: rgb(1, 2, 3)' onclick='ran = 1'>");
          document.getElementById("s").click();
        }"""
    )
    assert tab.evaluate("window.ran") is None
    assert tab.evaluate("getComputedStyle(document.getElementById('s')).color") != "rgb(1, 2, 3)"
    tab.close()
