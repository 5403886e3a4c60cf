"""The review room in real chromium: the demo's own record, heard by the real recogniser, and a simulated class."""

import csv
import io
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from companion.datafiles import packaged
from companion.procedure.loading import load
from companion.record.reader import Record
from companion.record.trusted import known_keys
from companion.review.told import Timeline
from companion.web.server import LocalServer
from tests.web.browser import schemes_with_violations, violations
from tests.web.rooms import Listener, demo, inside, within

PAGES = ("/", "/class", "/agreement", "{demo}", "{demo}/mark", "{demo}/mark?marker=27", "/session/none.jsonl")


def turned_by_hand(tab: Page, server: LocalServer, record: Record) -> None:
    """The demo's page, whose clock goes on only when the test says so."""
    tab.clock.install(time=0)
    tab.goto(within(server) + demo(record))
    tab.clock.pause_at(3_600_000)


@pytest.mark.usefixtures("server")
def test_the_demo_is_found_and_told_moment_by_moment(tab: Page, told: Timeline) -> None:
    tab.get_by_label("Procedure").select_option("subcutaneous-insulin")
    tab.get_by_role("button", name="Show").click()
    expect(tab.get_by_role("status")).to_contain_text("1 of 7 sessions")
    tab.get_by_role("row").nth(1).get_by_role("link").click()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Subcutaneous insulin from a vial")
    expect(tab.locator(".verified")).to_contain_text("Verified: intact and closed")
    assert tab.locator("#moments li").count() == len(told.moments)
    at = tab.locator("#moments li").evaluate_all("all => all.map(each => Number(each.dataset.at))")
    assert at == [moment.at_ms for moment in told.moments]
    says = tab.locator("#moments .says").all_text_contents()
    assert says == [text for moment in told.moments for text in moment.says]
    assert tab.locator("svg.plot .span").count() == len(told.confirmed)


@pytest.mark.parametrize("speed", [1, 2, 4, 8])
def test_it_plays_that_many_times_as_fast(tab: Page, server: LocalServer, record: Record, speed: int) -> None:
    turned_by_hand(tab, server, record)
    tab.get_by_label("Speed").select_option(str(speed))
    tab.get_by_role("button", name="Play").click()
    tab.clock.run_for(3000)
    expect(tab.get_by_role("button", name="Hold")).to_be_visible()
    minutes, seconds = tab.locator("#now").inner_text().split(":")
    assert int(minutes) * 60 + float(seconds) == pytest.approx(3 * speed, abs=0.06 * speed)
    tab.get_by_role("button", name="Hold").click()
    held = tab.locator("#now").inner_text()
    tab.clock.run_for(3000)
    assert tab.locator("#now").inner_text() == held


def test_aloud_it_says_what_the_record_says(
    tab: Page, server: LocalServer, record: Record, told: Timeline, voice: Listener
) -> None:
    turned_by_hand(tab, server, record)
    tab.get_by_label("Aloud").check()
    tab.get_by_label("Speed").select_option("8")
    tab.get_by_role("button", name="Play").click()
    reached = next(number for number, moment in enumerate(told.moments) if moment.at_ms > 15_000)
    for _ in range(60):
        tab.clock.run_for(200)
        if tab.locator("#moments li[aria-current]").get_attribute("data-n", timeout=5000) == str(
            told.moments[reached].n
        ):
            break
    tab.get_by_role("button", name="Hold").click()
    wanted = [text for moment in told.moments[:reached] for text in moment.says]
    assert voice.said[: len(wanted)] == wanted


def test_a_click_on_a_moment_goes_there(tab: Page, server: LocalServer, record: Record, told: Timeline) -> None:
    tab.goto(within(server) + demo(record))
    tab.locator("#moments li").nth(9).locator(".at").click()
    expect(tab.locator("#moments li").nth(9)).to_have_attribute("aria-current", "step")
    expect(tab.locator("#telling")).to_contain_text(told.moments[9].heard)


def test_by_keyboard_alone_moment_by_moment(tab: Page, server: LocalServer, record: Record) -> None:
    tab.goto(within(server) + demo(record))
    moments = tab.locator("#moments li")
    tab.get_by_role("button", name="Play").focus()
    for keys, number in (("Tab Tab Enter Enter Enter", 2), ("Shift+Tab Space", 1), ("Space Space Space", 0)):
        for pressed in keys.split():
            tab.keyboard.press(pressed)
        expect(moments.nth(number)).to_have_attribute("aria-current", "step")
        at = int(moments.nth(number).get_attribute("data-at") or "")
        minutes, seconds = tab.locator("#now").inner_text().split(":")
        assert int(minutes) * 60 + float(seconds) == pytest.approx(at / 1000, abs=0.051)
    assert tab.locator("#moments li[aria-current]").count() == 1


def test_tables_and_pages_can_be_taken_along(tab: Page, server: LocalServer, record: Record, told: Timeline) -> None:
    tab.goto(within(server) + demo(record))
    with tab.expect_download() as kept:
        tab.get_by_role("link", name="Timeline as CSV").click()
    rows = list(csv.DictReader(io.StringIO(Path(kept.value.path()).read_text(encoding="utf-8"))))
    assert [int(row["at_ms"]) for row in rows] == [moment.at_ms for moment in told.moments]
    with tab.expect_download() as kept:
        tab.get_by_role("link", name="Save as HTML").click()
    assert kept.value.suggested_filename == f"{record.path.name}.review.html"
    asked: list[str] = []
    paper = tab.context.browser.new_page()  # type: ignore[union-attr]
    paper.on("request", lambda request: asked.append(request.url))
    paper.set_content(Path(kept.value.path()).read_text(encoding="utf-8"))
    assert paper.locator("#moments li").count() == len(told.moments) and paper.locator("script").count() == 0
    assert [url for url in asked if not url.startswith("about:")] == []
    assert violations(paper) == []
    paper.close()
    tab.goto(f"{within(server)}/class?procedure=simple-dressing")
    for table, heading in (("Steps", "median_ms"), ("Phrases", "unclear"), ("Cut", "rating")):
        with tab.expect_download() as kept:
            tab.get_by_role("link", name=f"{table} as CSV").click()
        assert heading in Path(kept.value.path()).read_text(encoding="utf-8").splitlines()[0]
    assert tab.pdf()[:5] == b"%PDF-"


def test_the_class_has_a_table_for_every_plot(tab: Page, server: LocalServer) -> None:
    tab.goto(f"{within(server)}/class?procedure=simple-dressing")
    for section in tab.locator("section:has(svg.plot)").all():
        assert section.locator("table").count() >= 1
        assert section.locator("svg.plot").first.get_attribute("aria-label")
    assert tab.locator("svg.plot").count() >= 3
    steps = tab.get_by_role("region", name="Table of steps").get_by_role("row")
    main = load(packaged("procedures") / "simple-dressing.yaml").procedure.steps
    assert steps.count() == 1 + len(main), "a heading and the main steps of the procedure"


def test_no_page_has_a_barrier(browser: Browser, server: LocalServer, record: Record) -> None:
    """Light and dark: nothing but colours differs, so that each page is opened once."""
    tab = inside(browser, server)
    for marker in ("27", "31"):
        tab.goto(f"{within(server)}{demo(record)}/mark?marker={marker}")
        tab.get_by_role("radio", name=": done").first.check()
        tab.get_by_role("button", name="Sign and save").click()
        tab.wait_for_url("**#marks")
    for path in PAGES:
        tab.goto(within(server) + path.format(demo=demo(record)))
        assert schemes_with_violations(tab) == {}, path
    tab.context.close()


def test_at_four_hundred_per_cent_nothing_has_to_be_pushed_sideways(
    browser: Browser, server: LocalServer, record: Record
) -> None:
    """WCAG 2.2, 1.4.10: 1280 CSS pixels at 400 % are 320; tables of data are excepted, and scroll by themselves."""
    tab = inside(browser, server, viewport={"width": 320, "height": 256})
    for path in PAGES:
        tab.goto(within(server) + path.format(demo=demo(record)))
        assert tab.evaluate("document.documentElement.scrollWidth") <= 320, path
    tab.context.close()


def test_nothing_is_asked_of_anybody_else(tab: Page, server: LocalServer, record: Record) -> None:
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    problems: list[str] = []
    tab.on("console", lambda message: problems.append(message.text))
    tab.on("pageerror", lambda fault: problems.append(str(fault)))
    for path in PAGES[:-1]:
        tab.goto(within(server) + path.format(demo=demo(record)))
    assert asked and all(url.startswith(server.origin + "/") for url in asked)
    assert problems == [], "the policy blocks nothing of our own"


@pytest.mark.usefixtures("server")
def test_what_comes_while_it_is_open_is_there(tab: Page, record: Record) -> None:
    shutil.copy(record.path, record.path.with_name("copy.jsonl"))
    tab.reload()
    expect(tab.get_by_role("status")).to_contain_text("8 of 8 sessions")
    record.path.with_name("copy.jsonl").unlink()
    tab.reload()
    expect(tab.get_by_role("status")).to_contain_text("7 of 7 sessions")


def test_the_demo_is_signed_with_the_key_of_the_user(folder: Path, record: Record) -> None:
    assert record.opening["public_key"] in known_keys(folder.parent / "keys")
