"""A guided session followed on the page, in real chromium: spoken, interrupted, and typed."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Page, expect

from companion.procedure.kinds.base import Say
from companion.record.reader import read_record
from companion.review.timeline import timeline
from tests.conversation.rig import WHOLE
from tests.waiting import until
from tests.web.sessions import DOING, Played, Typed, opened, played


def words(tab: Page) -> str:
    """All that the page shows."""
    return " ".join(tab.inner_text("body").split())


def doing(tab: Page, *states: str) -> None:
    """Wait until the page shows one of these states."""
    expect(tab.locator("#doing-word")).to_have_text(re.compile("|".join(f"^{DOING[state]}$" for state in states)))


def test_a_whole_spoken_session_is_followed(tmp_path: Path, browser: Browser) -> None:
    """Everything said is on the page while it is said, every reply heard and every step's title when it is due."""
    with played(tmp_path) as scene:
        tab = opened(browser, scene.page)
        seen: list[str] = []
        outside: list[str] = []
        tab.on("request", lambda asked: outside.append(asked.url) if scene.page.origin not in asked.url else None)

        def says(say: Say) -> None:
            doing(tab, "speaking", "ended")
            if not say.text.endswith(" to go."):  # the timer tells that
                expect(tab.locator("body")).to_contain_text(say.text)
            seen.append(say.text)

        def turn() -> None:
            step = scene.session.machine.current(scene.session.state)
            doing(tab, "listening", "waiting", "ended")
            if step is not None:
                expect(tab.locator("#title")).to_have_text(step.title)
            if scene.session.state.done and not scene.session.state.ended:
                said = scene.session.state.done[-1].phrase
                assert step is not None and (said in words(tab) or step.id in ("rub", "who", "ordered", "sign"))

        scene.watched.on_says, scene.watched.on_turn = says, turn
        scene.run()
        doing(tab, "ended")
        expect(tab.locator("body")).to_contain_text("complete and signed")
        assert len(seen) > 10 and outside == []
        tab.context.close()


def test_the_page_dies_the_voice_goes_on_and_the_page_catches_up(tmp_path: Path, browser: Browser) -> None:
    with played(tmp_path) as scene:
        tabs = [opened(browser, scene.page)]
        turns: list[str] = []

        def turn() -> None:
            turns.append(scene.session.state.status)
            if len(turns) == 3:
                with pytest.raises(Error):
                    tabs[0].goto("chrome://crash")
                tabs[0].context.close()
            if len(turns) == 4:
                until(lambda: scene.gone == [True], 20)
            if len(turns) == 6:
                tabs.append(opened(browser, scene.page))
                step = scene.session.machine.current(scene.session.state)
                assert step is not None
                expect(tabs[1].locator("#title")).to_have_text(step.title)
                doing(tabs[1], "listening", "waiting")
                expect(tabs[1].locator("#heard")).to_contain_text("Heard: ")

        scene.watched.on_turn = turn
        scene.run()
        assert scene.session.state.status == "finished" and len(turns) > 6
        doing(tabs[1], "ended")
        tabs[1].context.close()


def test_a_page_that_lost_the_program_says_so(tmp_path: Path, browser: Browser) -> None:
    with played(tmp_path) as scene:
        tab = opened(browser, scene.page)
        scene.page.display.follow(scene.session)
        doing(tab, "starting")
        scene.page._server.stop()
        expect(tab.locator("#lost")).to_contain_text("The voice and the terminal go on")
        tab.context.close()


def test_the_program_stops_and_the_page_says_so(tmp_path: Path, browser: Browser) -> None:
    with played(tmp_path) as scene:
        tab = opened(browser, scene.page)
        scene.page.display.follow(scene.session)
        until(lambda: scene.page.board.followers == 1, 20)  # a page that comes later finds no program at all
    doing(tab, "closed")
    expect(tab.locator("#lost")).to_be_hidden()
    tab.context.close()


def test_a_whole_session_typed_on_the_page_shows_no_hidden_figure(tmp_path: Path, browser: Browser) -> None:
    drill = Typed(tmp_path, browser)
    lines = list(WHOLE)
    opened_at: list[int] = []
    kinds: list[str | None] = []

    def turn() -> None:
        doing(drill.tab, "typing", "waiting", "held", "ended")
        if drill.rig.session.state.values.get("volume") and not opened_at:
            opened_at.append(len(drill.published))
        if not opened_at:
            assert "0.18" not in drill.tab.content()
        if lines:
            line = lines.pop(0)
            if line:
                drill.type(line)
            if line == "0.18 mL":
                kinds.append(drill.tab.locator("#line").get_attribute("type"))

    drill.watched.on_turn = turn
    drill.rig.run()
    drill.close()
    assert drill.rig.session.state.status == "finished"
    # The picture in which the figures were opened is the first that may hold one.
    first = next(n for n, body in enumerate(drill.published) if "0.18" in body or "one eight" in body)
    assert "Both figures agree" in drill.published[first] and first < opened_at[0]
    assert kinds == ["password"] * 4
    told = timeline(read_record(drill.rig.path))
    assert {step.by for step in told.confirmed} == {"key"}


def test_enter_alone_and_words_that_are_no_reply(tmp_path: Path, browser: Browser) -> None:
    drill = Typed(tmp_path, browser)
    lines = ["gloves are on", "", "pause", "resume"]

    def turn() -> None:
        if lines:
            drill.type(lines.pop(0))
        else:
            raise KeyboardInterrupt

    seen: list[str] = []
    tell = drill.watched.missed

    def missed(reason: str) -> None:
        tell(reason)
        expect(drill.tab.locator("#heard")).to_contain_text("Not taken: `gloves are on` is not a reply here")
        seen.append(reason)
        turn()

    drill.watched.on_turn, drill.watched.missed = turn, missed
    with pytest.raises(KeyboardInterrupt):
        drill.rig.run()
    expect(drill.tab.locator("body")).to_contain_text("Put the hand rub in your palm")
    assert len(seen) == 1 and not lines
    drill.close()


def test_what_cannot_be_typed_is_refused(tmp_path: Path, browser: Browser) -> None:
    drill = Typed(tmp_path, browser)
    send = "line => fetch('line', {method: 'POST', body: line}).then(answer => answer.status)"
    assert drill.tab.evaluate(send, "x" * 501) == 429
    assert drill.tab.evaluate(send, "a\u0000b") == 429
    assert [drill.tab.evaluate(send, "pause") for _ in range(17)] == [204] * 16 + [429]
    drill.close()


def test_nothing_is_typed_into_a_session_that_only_shows(tmp_path: Path, browser: Browser) -> None:
    with played(tmp_path) as scene:
        tab = opened(browser, scene.page)
        scene.page.display.follow(scene.session)
        doing(tab, "starting")
        expect(tab.locator("#line")).to_be_hidden()  # before the page is drawn the browser may say otherwise
        assert tab.evaluate("fetch('line', {method: 'POST', body: 'x'}).then(answer => answer.status)") == 403
        tab.context.close()


def test_a_fault_in_the_picture_never_stops_the_session(tmp_path: Path) -> None:
    with played(tmp_path) as scene:
        calls: list[Played] = []

        def breaks(*_: object) -> object:
            calls.append(scene)
            raise ZeroDivisionError

        scene.page.display._picture = breaks  # type: ignore[assignment,method-assign]
        scene.run()
        assert scene.session.state.status == "finished" and len(calls) == 1


def test_markup_is_only_text(tmp_path: Path, browser: Browser) -> None:
    bad = '<img src=x onerror="window.ran = 1"><script>window.ran = 1</script>'
    with played(tmp_path) as scene:
        tab = opened(browser, scene.page)
        scene.page.display.follow(scene.session)
        scene.page.display.says(Say(bad))
        scene.page.display.heard(bad, "voice")
        scene.page.display.notice(bad)
        expect(tab.locator("#notice")).to_have_text(bad)
        expect(tab.locator("#heard")).to_contain_text(bad)
        expect(tab.locator("#asked")).to_contain_text(bad)
        assert tab.evaluate("window.ran") is None
        assert tab.locator("main img, #heard img").count() == 0
        tab.context.close()
