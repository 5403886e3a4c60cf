"""A rehearsal followed on the page: typed there, from memory, and judged at the end."""

from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.web.browser import schemes_with_violations
from tests.web.sessions import DOING
from tests.web.test_screen_option import address_of, come_in, program

REHEARSE = ("rehearse", "subcutaneous-insulin", "--keyboard", "--silent", "--screen", "--no-browser", "--student", "41")
LINES = ("I wash my hands with hand rub", "then I check the name and the date of birth", "hint", "that is all")


def test_a_rehearsal_typed_on_the_page_ends_with_what_to_practise(tmp_path: Path, browser: Browser) -> None:
    with program(tmp_path, *REHEARSE) as process:
        tab = come_in(browser, address_of(process))
        expect(tab.locator(".where")).to_contain_text("From memory")
        expect(tab.locator("#asked")).to_contain_text("Talk it through in your own words")
        for line in LINES[:2]:
            expect(tab.locator("#doing-word")).to_have_text(DOING["typing"])
            tab.keyboard.type(line)
            tab.keyboard.press("Enter")
            expect(tab.locator("#heard")).to_have_text(f"Typed: {line}")
            expect(tab.locator("#asked")).to_contain_text(line)
        assert "Next: " not in tab.inner_text("body"), "from memory nothing is told unasked"
        tab.keyboard.type(LINES[2])
        tab.keyboard.press("Enter")
        expect(tab.locator("#asked")).to_contain_text("Next: ")
        assert schemes_with_violations(tab) == {}
        tab.keyboard.type(LINES[3])
        tab.keyboard.press("Enter")
        expect(tab.locator("#doing-word")).to_have_text(DOING["not passed"])
        assert process.stdout is not None
        said = process.stdout.read()
        assert process.wait(60) == 0, said
        findings = [line[2:] for line in said.splitlines() if line.startswith("! ")]
        assert findings
        for finding in findings[:3]:
            expect(tab.locator("#asked")).to_contain_text(f"Critical: {finding}")
        assert tab.locator("#line").is_hidden() and tab.locator("#lost").is_hidden()
        assert schemes_with_violations(tab) == {}
        tab.close()


def test_a_script_is_not_shown(tmp_path: Path) -> None:
    with program(tmp_path, *REHEARSE, "--script", "nowhere.yaml") as process:
        assert process.stdout is not None
        assert "`--screen` shows what is said now" in process.stdout.read()
        assert process.wait(60) == 1
