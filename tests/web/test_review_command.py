"""`companion review` as a user runs it: a process of its own, its page in real chromium, ended by Ctrl-C."""

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from companion.record.trusted import trust
from tests.record.making import key
from tests.review.cohorts import guided
from tests.web.test_screen_option import address_of, program

COUNT = 5


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("class") / "records"
    guided(folder, COUNT)
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    """Records of a test's own, by a signer whom its home trusts."""
    trust(tmp_path / "home" / "keys", key().public, "tests")
    return shutil.copytree(made, tmp_path / "records")


def review(folder: Path) -> tuple[str, ...]:
    return ("review", str(folder), "--no-browser", "--silent")


def said_by(home: Path, *words: str) -> tuple[int, str]:
    """What a command that ends by itself says."""
    with program(home, *words) as process:
        assert process.stdout is not None
        said = process.stdout.read()
        return process.wait(60), said


def end(process: "subprocess.Popen[str]") -> str:
    """Ctrl-C; what is said from then on."""
    process.send_signal(signal.SIGINT)
    assert process.stdout is not None
    said = process.stdout.read()
    assert process.wait(60) == 0, said
    return said


def test_it_reads_the_folder_opens_the_page_and_ends_with_one_line(
    folder: Path, tmp_path: Path, browser: Browser
) -> None:
    with program(tmp_path / "home", *review(folder)) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == f"{folder}: {COUNT} new or changed records read\n"
        tab = browser.new_page()
        tab.goto(address_of(process))
        expect(tab.get_by_role("status")).to_contain_text(f"{COUNT} of {COUNT} sessions")
        tab.get_by_role("link", name="Class").click()
        expect(tab.get_by_role("heading", level=1)).to_contain_text("Class: ")
        assert process.stdout.readline() == "The address opens once. Ctrl-C ends the review.\n"
        assert end(process) == "The review is over.\n"
        tab.close()
    assert sorted(path.suffix for path in folder.iterdir()) == [".jsonl"] * COUNT, "nothing is written beside records"
    with program(tmp_path / "home", *review(folder)) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == f"{folder}: 0 new or changed records read\n"
        assert end(process).splitlines()[-1] == "The review is over.", "also before the page is open"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no terminals of this kind")
def test_at_a_terminal_the_import_shows_how_far_it_is(folder: Path, tmp_path: Path) -> None:
    """Standard error is a terminal; the bar is taken away when it is done."""
    import pty

    master, slave = pty.openpty()
    env = {**os.environ, "COMPANION_HOME": str(tmp_path / "home"), "TERM": "xterm"}
    command = [sys.executable, "-u", "-m", "companion", *review(folder)]
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=slave, text=True) as process:
        os.close(slave)
        try:
            address_of(process)
            shown = os.read(master, 100_000).decode()
        finally:
            process.kill()
            os.close(master)
    assert "Reading records" in shown and "100%" in shown
    assert "\x1b[2K" in shown, "the line is cleared (ECMA-48, EL)"


def test_a_folder_that_is_not_there_and_a_file(folder: Path, tmp_path: Path) -> None:
    record = next(folder.iterdir())
    for wrong in (tmp_path / "nowhere", record):
        code, said = said_by(tmp_path / "home", *review(wrong))
        assert code == 1, said
        assert said.strip().splitlines() == [said.strip()], "one line"
        assert str(wrong) in said and "a folder of session records (.jsonl) is accepted" in said


def test_a_folder_without_records_says_so_on_the_page(tmp_path: Path, browser: Browser) -> None:
    (tmp_path / "empty").mkdir()
    with program(tmp_path / "home", *review(tmp_path / "empty")) as process:
        tab = browser.new_page()
        tab.goto(address_of(process))
        expect(tab.locator(".empty")).to_contain_text("this folder holds none that can be read")
        for page in ("Class", "Two markers"):
            tab.get_by_role("link", name=page).click()
            expect(tab.get_by_role("heading", level=1)).to_be_visible()
        end(process)
        tab.close()


def test_a_second_review_of_the_folder_is_told(folder: Path, tmp_path: Path) -> None:
    with program(tmp_path / "home", *review(folder)) as process:
        address_of(process)
        code, said = said_by(tmp_path / "home", *review(folder))
        assert code != 0 and said.count("\n") == 1
        assert str(folder) in said and "another review of this folder is open; close that one" in said
        end(process)


def test_a_corrupt_record_is_named_and_the_others_are_there(folder: Path, tmp_path: Path, browser: Browser) -> None:
    bad = folder / "bad.jsonl"
    bad.write_bytes(b"\x00\xff" * 4000)
    changed = sorted(folder.glob("*.jsonl"))[-1]
    changed.write_bytes(changed.read_bytes().replace(b'"kind":"event"', b'"kind":"tneve"', 1))
    with program(tmp_path / "home", *review(folder)) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == f"{folder}: {COUNT + 1} new or changed records read\n"
        assert process.stdout.readline().startswith(f"* Not counted: {bad}: it ")
        tab = browser.new_page()
        tab.goto(address_of(process))
        expect(tab.get_by_role("status")).to_contain_text(f"{COUNT} of {COUNT} sessions")
        tab.locator(".faults summary").click()
        expect(tab.locator(".faults li")).to_contain_text("bad.jsonl")
        server = tab.url.split("/?")[0].rstrip("/")
        tab.goto(f"{server}/session/{bad.name}")
        expect(tab.get_by_role("alert")).to_contain_text("bad.jsonl")
        tab.goto(f"{server}/session/{changed.name}")
        expect(tab.get_by_role("alert")).to_contain_text(changed.name)
        assert "Traceback" not in end(process)
        tab.close()
