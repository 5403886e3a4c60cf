"""Marking in the review room, by two who do not see each other, in real chromium."""

import csv
import io
from pathlib import Path

from playwright.sync_api import Page, expect

from companion.record.reader import Record
from companion.review.marks_file import marks_path, read_marks
from companion.review.told import Timeline
from companion.web.server import LocalServer
from tests.record.making import key
from tests.review.parts import part
from tests.web.rooms import demo, mark_steps, within


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
