"""The review room in real chromium: the demo's own record, heard by the real recogniser, and a simulated class."""

import csv
import io
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from companion.datafiles import packaged
from companion.procedure.loading import load
from companion.record.reader import Record, read_record
from companion.record.trusted import known_keys
from companion.review.marks_file import marks_path, read_marks
from companion.review.timeline import timeline
from companion.review.told import Timeline
from companion.web.server import LocalServer
from tests.demo_session import DemoSession
from tests.record.making import key
from tests.review.cohorts import guided
from tests.review.parts import part
from tests.web.browser import schemes_with_violations, violations
from tests.web.rooms import Listener, inside, known_home, mark_steps, room, within

PAGES = ("/", "/class", "/agreement", "{demo}", "{demo}/mark", "{demo}/mark?marker=27", "/session/none.jsonl")


@pytest.fixture(scope="module")
def made(demo_made: DemoSession, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a class and the record of `companion demo`; the key that signed that is the user's own."""
    home = demo_made.into(tmp_path_factory.mktemp("home"))
    guided(home / "records", 6)
    return known_home(home)


@pytest.fixture
def home(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it for each test."""
    monkeypatch.setenv("COMPANION_HOME", str(shutil.copytree(made, tmp_path / "home")))
    return tmp_path / "home"


@pytest.fixture
def voice() -> Listener:
    return Listener()


@pytest.fixture
def server(home: Path, voice: Listener) -> Iterator[LocalServer]:
    with room(home / "records", home / "cache", voice) as running:
        yield running


@pytest.fixture
def record(home: Path) -> Record:
    """The demo's."""
    (path,) = (home / "records").glob("*insulin*.jsonl")
    return read_record(path)


@pytest.fixture
def told(record: Record) -> Timeline:
    return timeline(record)


@pytest.fixture
def tab(browser: Browser, server: LocalServer) -> Iterator[Page]:
    page = inside(browser, server, locale="en-GB")
    yield page
    page.context.close()


def demo(record: Record) -> str:
    return f"/session/{record.path.name}"


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


def test_marking_by_keyboard_alone(tab: Page, server: LocalServer, record: Record) -> None:
    before = record.path.read_bytes()
    tab.goto(within(server) + demo(record))
    tab.keyboard.press("Tab")
    expect(tab.get_by_role("link", name="To the content")).to_be_focused()
    tab.keyboard.press("Enter")
    for _ in range(2):
        tab.keyboard.press("Tab")
    expect(tab.get_by_role("link", name="Mark this session")).to_be_focused()
    tab.keyboard.press("Enter")
    tab.get_by_label("Your tag").focus()
    tab.keyboard.type("27")
    tab.keyboard.press("Enter")
    expect(tab.get_by_role("button", name="Sign and save as marker 27")).to_be_visible()
    tab.get_by_role("radio", name=": not judged").first.focus()
    tab.keyboard.press("ArrowRight")  # round to the first of the row
    tab.keyboard.press("Tab")
    tab.keyboard.type("Took a breath first.")
    tab.keyboard.press("Tab")
    for _ in range(3):
        tab.keyboard.press("ArrowRight")
    tab.get_by_role("radio", name="3 pass").focus()
    tab.keyboard.press("Space")
    tab.get_by_label("Remark on the whole").focus()
    tab.keyboard.type("Calm <b>& in order</b>.")
    tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    tab.wait_for_url(f"{within(server)}{demo(record)}#marks")
    card = tab.get_by_role("article")
    expect(card).to_contain_text("Marker 27")
    expect(card).to_contain_text("Calm <b>& in order</b>.")
    saved = read_marks(record, "27", {key().public})
    assert saved is not None and saved.known and saved.marks.rating == 3
    assert [(item.mark, item.remark) for item in saved.marks.items] == [
        ("done", "Took a breath first."),
        ("not done", ""),
    ]
    assert record.path.read_bytes() == before, "the student's record stays as it was"


def test_a_remark_that_may_name_somebody_is_held_back_and_the_form_kept(
    tab: Page, server: LocalServer, record: Record
) -> None:
    tab.goto(f"{within(server)}{demo(record)}/mark?marker=27")
    tab.get_by_label("Remark on the whole").fill("Mrs Miller, hospital number 4711223")
    tab.get_by_role("button", name="Sign and save").click()
    expect(tab.get_by_role("alert")).to_contain_text("nobody is named in a remark")
    expect(tab.get_by_label("Remark on the whole")).to_have_value("Mrs Miller, hospital number 4711223")
    assert not marks_path(record.path, "27").exists()
    tab.get_by_label("Remark on the whole").fill("Quick.")
    tab.get_by_role("button", name="Sign and save").click()
    tab.wait_for_url("**#marks")
    tab.goto(f"{within(server)}{demo(record)}/mark?marker=27")
    expect(tab.get_by_label("Remark on the whole")).to_have_value("Quick.")
    expect(tab.locator(".notice")).to_contain_text("revision 1")


def test_two_markers_do_not_see_each_other_and_are_compared(
    tab: Page, server: LocalServer, record: Record, told: Timeline
) -> None:
    titles = [step.title for step in told.procedure.steps[:12]]
    first = ["done", "in part", "not done"] * 4
    second = ["done", "in part", "in part"] * 4
    for marker, marks in (("27", first), ("31", second)):
        tab.goto(f"{within(server)}{demo(record)}/mark?marker={marker}")
        expect(tab.locator(".remark-in").first).to_have_value("")
        mark_steps(tab, list(zip(titles, marks, strict=True)))
        tab.locator(".remark-in").first.fill(f"Seen by {marker}.")
        tab.get_by_role("radio", name="2 borderline").check()
        tab.get_by_role("button", name="Sign and save").click()
        tab.wait_for_url("**#marks")
    assert tab.get_by_role("article").count() == 2
    tab.get_by_role("link", name="Two markers").click()
    kappa = part("sklearn.metrics", "scikit-learn").cohen_kappa_score(first, second)
    expect(tab.locator(".card").first).to_contain_text(f"κ {kappa:.2f} moderate")
    expect(tab.locator(".card").nth(1)).to_contain_text("undefined")
    with tab.expect_download() as kept:
        tab.get_by_role("link", name="Save as CSV").click()
    rows = list(csv.DictReader(io.StringIO(Path(kept.value.path()).read_text(encoding="utf-8"))))
    assert [row["title"] for row in rows if row["agreed"] == "0"] == sorted(
        titles[2::3], key=lambda t: step_id(told, t)
    )


def step_id(told: Timeline, title: str) -> str:
    return next(step.id for step in told.procedure.steps if step.title == title)


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


def test_the_demo_is_signed_with_the_key_of_the_user(home: Path, record: Record) -> None:
    assert record.opening["public_key"] in known_keys(home / "keys")
