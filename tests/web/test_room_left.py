"""The review room over records as the commands leave them, in real chromium: an educator opens each, decides and marks.

That a rehearsal is opened, decided and marked like any session is what educators asked for.
"""

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from companion.exports.source import load_source
from companion.record.keys import own_key
from companion.review.marks_file import read_marks
from companion.web.server import LocalServer
from tests.left_records import DOUBTFUL, IN_DOUBT, KINDS, OUTCOMES, LeftRecords
from tests.web.browser import schemes_with_violations
from tests.web.rooms import room, within

TITLE = "Forearms and jewelry"
SHOWN = {"undecided": "waits for you", "open": "not ended"}


@pytest.fixture
def left(left_made: LeftRecords, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> LeftRecords:
    """Records of a test's own, with the folder of the user who made them."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path / "home"))
    return left_made.into(tmp_path / "home")


@pytest.fixture
def server(left: LeftRecords) -> Iterator[LocalServer]:
    with room(left.home / "records", left.home / "cache", signer=own_key(left.home / "keys")) as running:
        yield running


def open_session(tab: Page, server: LocalServer, left: LeftRecords, kind: str) -> None:
    answer = tab.goto(f"{within(server)}/session/{left.names[kind]}")
    assert answer is not None and answer.status == 200, answer and answer.text()


def decide(tab: Page, marker: str, decision: str) -> None:
    with tab.expect_navigation():
        box = tab.get_by_role("group", name=TITLE)
        box.get_by_role("radio", name=decision, exact=True).check()
        tab.get_by_label("Your tag").fill(marker)
        tab.get_by_role("button", name="Sign and save the decision").click()


def test_every_record_opens_and_plays(tab: Page, server: LocalServer, left: LeftRecords) -> None:
    for kind in KINDS:
        open_session(tab, server, left, kind)
        told = load_source(left.path(kind)).told
        at = tab.locator("#moments li").evaluate_all("all => all.map(each => Number(each.dataset.at))")
        assert at == [moment.at_ms for moment in told.moments], kind
        shown = tab.locator("#moments").inner_text()
        for moment in told.moments:
            assert moment.uttered is None or moment.uttered.text in shown, kind
            assert all(text in shown for text in moment.says), kind
        assert tab.locator("svg.plot .span").count() == len(told.confirmed), kind
        assert schemes_with_violations(tab) == {}, kind


def test_the_list_says_who_waits(tab: Page, server: LocalServer, left: LeftRecords) -> None:
    tab.goto(within(server) + "/")
    for kind in KINDS:
        row = tab.get_by_role("row").filter(has=tab.locator(f"a[href$='{left.names[kind]}']"))
        expect(row).to_contain_text(SHOWN.get(OUTCOMES[kind], OUTCOMES[kind]))
    with tab.expect_download() as kept:
        tab.get_by_role("link", name="Save as CSV").click()
    rows = list(csv.DictReader(io.StringIO(Path(kept.value.path()).read_text(encoding="utf-8"))))
    assert {row["file"]: row["outcome"] for row in rows} == {left.names[kind]: OUTCOMES[kind] for kind in KINDS}
    tab.get_by_role("link", name="1 rehearsal waits for you").click()
    expect(tab.get_by_role("status")).to_contain_text(f"1 of {len(KINDS)} sessions")
    expect(tab.get_by_label("Outcome")).to_have_value("undecided")


def test_a_doubt_is_decided_by_its_words(tab: Page, server: LocalServer, left: LeftRecords) -> None:
    kind = "rehearsed undecided"
    path = left.path(kind)
    before = path.read_bytes()
    open_session(tab, server, left, kind)
    expect(tab.get_by_role("group", name=TITLE)).to_contain_text(DOUBTFUL)
    expect(tab.locator(".facts")).to_contain_text("undecided: the educator decides")
    decide(tab, "27", "said")
    expect(tab.get_by_role("group", name=TITLE)).to_contain_text("Said, by marker 27.")
    expect(tab.locator(".facts")).to_contain_text("passed")
    decide(tab, "31", "not said")
    expect(tab.get_by_role("group", name=TITLE)).to_contain_text("Still undecided")
    expect(tab.locator(".facts")).to_contain_text("undecided")
    decide(tab, "27", "not said")
    expect(tab.locator(".facts")).to_contain_text("not passed")
    assert path.read_bytes() == before, "the student's record stays as it was"
    tab.goto(f"{within(server)}/class")
    tab.get_by_role("row").filter(has_text=TITLE).get_by_role("link", name="missed 1").click()
    expect(tab.get_by_role("status")).to_contain_text(f"1 of {len(KINDS)} sessions")
    assert tab.locator(f"a[href$='{left.names[kind]}']").count() == 1


def test_marks_and_decisions_of_one_marker_stay_together(tab: Page, server: LocalServer, left: LeftRecords) -> None:
    path = left.path("rehearsed undecided")
    open_session(tab, server, left, "rehearsed undecided")
    decide(tab, "27", "said")
    tab.goto(f"{within(server)}/session/{path.name}/mark?marker=27")
    tab.get_by_role("radio", name=f"{TITLE}: in part", exact=True).check()
    tab.get_by_role("button", name="Sign and save").click()
    tab.wait_for_url("**#marks")
    decide(tab, "27", "not said")
    record = load_source(path).record
    saved = read_marks(record, "27", {str(record.opening["public_key"])})
    assert saved is not None and (saved.revision, saved.known) == (3, True)
    assert (saved.marks.judged, saved.marks.decisions) == ({IN_DOUBT: "in part"}, {IN_DOUBT: "not said"})


def test_the_class_opens_on_the_largest_group(tab: Page, server: LocalServer) -> None:
    tab.goto(f"{within(server)}/class")
    expect(tab.get_by_role("heading", level=1)).to_have_text("Class: Hand hygiene")
    expect(tab.get_by_label("Way")).to_have_value("from memory")
    facts = tab.locator(".facts")
    for words in ("Sessions\n3", "Passed\n1 of 3", "Not passed\n1 of 3", "Waits for you\n1 of 3"):
        assert words in facts.inner_text()
    assert "Not ended, not counted\n1" in facts.inner_text()
    tab.get_by_label("Way").select_option("guided")
    tab.get_by_role("button", name="Show").click()
    assert "Sessions\n1" in facts.inner_text() and "Abandoned\n1 of 1" in facts.inner_text()
    assert tab.get_by_role("region", name="Table of steps").get_by_role("row").count() == 2, "a heading and one step"


def test_what_nobody_can_judge_is_never_passed(tab: Page, server: LocalServer, left: LeftRecords) -> None:
    open_session(tab, server, left, "rehearsed not judged")
    expect(tab.locator(".facts")).to_contain_text("not judged")
    expect(tab.locator(".notice.warn")).to_contain_text("It cannot be judged")
