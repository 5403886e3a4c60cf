"""No key that is typed while the page is open is lost, however slow the machine, and no figure shows that must not.

The page is held up where it can be held up: before its first picture, while a line is on its way, while the field
becomes hidden or is hidden no more. Requests are held by playwright, the processor by the browser's own throttle.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.conversation.rig import WHOLE
from tests.waiting import until
from tests.web.sessions import DOING, Typed

LINE = "#line"


@pytest.fixture
def drill(tmp_path: Path, browser: Browser) -> Iterator[Typed]:
    found = Typed(tmp_path, browser)
    expect(found.tab.locator("#doing-word")).to_have_text(DOING["starting"])
    yield found
    found.close()


def hold(tab: Page, path: str) -> list[Route]:
    """Requests for `path` wait until the test lets them go."""
    held: list[Route] = []

    def keep(route: Route) -> None:
        held.append(route)

    tab.route(f"**{path}", keep)
    return held


def asked(drill: Typed, **changed: Any) -> None:
    """Another picture, as the session would publish it."""
    drill.page.board.publish({**drill.page.board.latest, **changed})


def lines(drill: Typed) -> list[str]:
    return list(drill.keys._lines.queue)


def test_letters_typed_before_the_first_picture_stay(drill: Typed, browser: Browser) -> None:
    tab = browser.new_page()
    held = hold(tab, "/events")
    tab.goto(drill.page.address())
    expect(tab.locator(LINE)).to_be_focused()
    tab.keyboard.type("gloves are on")
    assert held, "no picture has come yet"
    held[0].continue_()
    expect(tab.locator("#title")).not_to_be_empty()
    expect(tab.locator(LINE)).to_have_value("gloves are on")
    tab.close()


def test_letters_typed_while_a_line_is_on_its_way_stay(drill: Typed) -> None:
    held = hold(drill.tab, "/line")
    for line in ("rub is in", "both hands dry"):
        drill.tab.keyboard.type(line)
        drill.tab.keyboard.press("Enter")
    drill.tab.keyboard.type("name ag")
    assert len(held) == 1, "the second waits for the first, or it might come in before it"
    held[0].continue_()
    until(lambda: drill.tab.evaluate("1") == 1 and len(held) == 2, 20)
    held[1].continue_()
    until(lambda: drill.tab.evaluate("1") == 1 and lines(drill) == ["rub is in", "both hands dry"], 20)
    expect(drill.tab.locator(LINE)).to_have_value("name ag")


def test_a_line_begun_in_the_open_goes_on_hidden(drill: Typed) -> None:
    drill.tab.keyboard.type("0.1")
    asked(drill, hidden=True)
    expect(drill.tab.locator(LINE)).to_have_attribute("type", "password")
    drill.tab.keyboard.type("8 mL")
    expect(drill.tab.locator(LINE)).to_have_value("0.18 mL")


def test_a_line_begun_hidden_stays_hidden_until_it_is_sent(drill: Typed) -> None:
    asked(drill, hidden=True)
    expect(drill.tab.locator(LINE)).to_have_attribute("type", "password")
    drill.tab.keyboard.type("0.1")
    asked(drill, hidden=False, notice="now in the open")
    expect(drill.tab.locator("#notice")).to_have_text("now in the open")
    drill.tab.keyboard.type("8 mL")
    expect(drill.tab.locator(LINE)).to_have_value("0.18 mL")
    expect(drill.tab.locator(LINE)).to_have_attribute("type", "password")
    drill.tab.keyboard.press("Enter")
    expect(drill.tab.locator(LINE)).to_have_attribute("type", "text")
    until(lambda: lines(drill) == ["0.18 mL"], 20)


def test_a_page_loaded_anew_hides_from_the_first_key_on(drill: Typed, browser: Browser) -> None:
    asked(drill, hidden=True)
    tab = browser.new_page()
    hold(tab, "/events")
    tab.goto(drill.page.address())
    expect(tab.locator(LINE)).to_be_focused()
    tab.keyboard.type("0.18 mL")
    tab.keyboard.press("Enter")
    tab.keyboard.type("0.18")
    expect(tab.locator(LINE)).to_have_attribute("type", "password")
    tab.close()


def test_a_line_that_is_not_taken_comes_back(drill: Typed) -> None:
    """Sixteen wait at most. What was typed since is not mixed with it."""
    for _ in range(16):
        assert drill.keys.put("pause")
    drill.tab.keyboard.type("both hands dry")
    drill.tab.keyboard.press("Enter")
    expect(drill.tab.locator("#line-says")).to_contain_text("Not taken")
    expect(drill.tab.locator(LINE)).to_have_value("both hands dry")
    held = hold(drill.tab, "/line")
    drill.tab.keyboard.press("Enter")
    drill.tab.keyboard.type("help")
    until(lambda: drill.tab.evaluate("1") == 1 and len(held) == 1, 20)
    held[0].continue_()
    expect(drill.tab.locator("#line-says")).to_contain_text("It was: both hands dry")
    expect(drill.tab.locator(LINE)).to_have_value("help")


def test_keys_reach_the_field_from_anywhere(drill: Typed) -> None:
    """Also the first of two keys that make one letter (UI Events: `Dead`), and AltGr, which is no command."""
    alt_gr = "key: '\u00e9', ctrlKey: true, altKey: true, modifierAltGraph: true"
    for how in ("key: 'h'", "key: 'Dead'", "key: 'Backspace'", alt_gr):
        drill.tab.evaluate("document.activeElement.blur()")
        expect(drill.tab.locator(LINE)).not_to_be_focused()
        drill.tab.evaluate(f"document.body.dispatchEvent(new KeyboardEvent('keydown', {{bubbles: true, {how}}}))")
        expect(drill.tab.locator(LINE)).to_be_focused()
    drill.tab.evaluate("document.activeElement.blur()")
    drill.tab.keyboard.press("Control+a")
    expect(drill.tab.locator(LINE)).not_to_be_focused()


def test_on_a_processor_four_times_slower_a_session_is_typed_blindly(tmp_path: Path, browser: Browser) -> None:
    """Nobody waits for the page: each line is typed as soon as the program listens, whatever the page shows."""
    drill = Typed(tmp_path, browser)
    drill.tab.context.new_cdp_session(drill.tab).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    drill.tab.reload(wait_until="commit")
    expect(drill.tab.locator(LINE)).to_be_focused()
    script = list(WHOLE)

    def turn() -> None:
        if script and (line := script.pop(0)):
            drill.type(line)

    def missed(reason: str) -> None:
        raise AssertionError(f"not taken: {reason}")

    drill.watched.on_turn, drill.watched.missed = turn, missed
    drill.rig.run()
    assert drill.rig.session.state.status == "finished" and not script
    drill.close()


def test_a_line_not_taken_is_not_repeated_while_a_figure_is_under_seal(tmp_path: Path, browser: Browser) -> None:
    """The figure typed once too often, when the second person's tag is asked for."""
    drill = Typed(tmp_path, browser)
    script = list(WHOLE)
    seen: list[str] = []

    def turn() -> None:
        if script and script[0] == "52" and not seen:
            drill.type("0.18 mL")
        elif script and (line := script.pop(0)):
            drill.type(line)

    tell = drill.watched.missed

    def missed(reason: str) -> None:
        tell(reason)
        expect(drill.tab.locator("#heard")).to_contain_text("Not taken: that is not a reply here")
        assert "0.18" not in reason and "0.18" not in drill.tab.content()
        seen.append(reason)
        turn()

    drill.watched.on_turn, drill.watched.missed = turn, missed
    drill.rig.run()
    assert len(seen) == 1 and drill.rig.session.state.status == "finished"
    drill.close()


def test_enter_before_the_script_has_come_takes_nothing_away(drill: Typed, browser: Browser) -> None:
    """For browsers that know no `blocking="render"`: the form by itself sends nothing and loads nothing."""
    tab = browser.new_page()
    tab.goto(drill.page.address())
    expect(tab.locator(LINE)).to_be_focused()
    held, address = hold(tab, "/assets/bedside.js"), tab.url
    tab.reload(wait_until="commit")
    tab.locator(LINE).focus()
    tab.keyboard.type("both hands dry")
    tab.keyboard.press("Enter")
    assert held and tab.url == address
    held[0].continue_()
    expect(tab.locator("#title")).not_to_be_empty()
    expect(tab.locator(LINE)).to_have_value("both hands dry")
    tab.keyboard.press("Enter")
    until(lambda: tab.evaluate("1") == 1 and lines(drill) == ["both hands dry"], 20)
    tab.close()
