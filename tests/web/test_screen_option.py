"""`--screen` on the command line: the program as a process of its own, its page in real chromium."""

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.waiting import until
from tests.web.sessions import DOING, SCENE

ROOT = Path(__file__).parents[2]
SHORT = SCENE.parent / "short.yaml"
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/#[\w-]{43}")
GUIDE = ("guide", str(SHORT), "--performer", "41", "--keyboard", "--silent", "--screen")


@contextmanager
def program(home: Path, *words: str, **env: str) -> Iterator["subprocess.Popen[str]"]:
    """The program running; whatever becomes of the test it is gone at the end."""
    command = [sys.executable, "-u", "-m", "companion", *words]
    surroundings = {**os.environ, "COMPANION_HOME": str(home), **env}
    with subprocess.Popen(
        command,
        env=surroundings,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        try:
            yield process
        finally:
            if process.poll() is None:
                process.kill()


def address_of(process: "subprocess.Popen[str]") -> str:
    """The address that the program prints."""
    assert process.stdout is not None
    for line in process.stdout:
        found = ADDRESS.search(line)
        if found:
            return found[0]
    raise AssertionError("no address was printed")


def come_in(browser: Browser, address: str) -> Page:
    tab = browser.new_page()
    tab.goto(address)
    expect(tab.locator("#line")).to_be_focused()
    return tab


def test_the_browser_is_opened_and_a_session_is_typed_on_the_page(tmp_path: Path, browser: Browser) -> None:
    """`BROWSER` names the command that Python's `webbrowser` starts; here one that keeps what it was given."""
    kept = tmp_path / "address"
    script = tmp_path / "browser.sh"
    script.write_text(f'#!/bin/sh\nprintf %s "$1" > {kept}.part && mv {kept}.part {kept}\n', encoding="utf-8")
    script.chmod(0o700)
    with program(tmp_path, *GUIDE, BROWSER=f"{script} %s", DISPLAY=":99") as process:
        printed = address_of(process)
        until(kept.exists, 60)
        opened = kept.read_text(encoding="utf-8")
        assert ADDRESS.fullmatch(opened) and opened != printed, "each opens once, so there are two"
        tab = come_in(browser, opened)
        for wanted, line in (
            ("Lay everything out", "tray is complete"),
            ("Are they dry?", "hands are dry"),
            ("First the name", "name matches"),
            ("Now the day of birth", "birth date matches"),
            ("How much is ordered?", "18 units"),
            ("Heard: 18 units", "exactly right"),
            ("Sign with your tag", "41"),
        ):
            expect(tab.locator("#words")).to_contain_text(wanted)
            expect(tab.locator("#doing-word")).to_have_text(DOING["typing"])
            tab.keyboard.type(line)
            tab.keyboard.press("Enter")
        expect(tab.locator("#doing-word")).to_have_text(DOING["ended"])
        assert process.stdout is not None
        said = process.stdout.read()
        assert process.wait(60) == 0 and "Outcome: signed" in said, said
        tab.close()


def test_with_the_network_off() -> None:
    """The test before, where there is no other network device than the loopback."""
    if shutil.which("unshare") is None or shutil.which("ip") is None:
        pytest.skip("no unshare or ip: apt-get install util-linux iproute2")
    alone = ["unshare", "--map-root-user", "--net", "sh", "-c"]
    if subprocess.run([*alone, "ip link set lo up"], capture_output=True, check=False).returncode != 0:
        pytest.skip("this machine lets nobody make a network of their own")
    inner = test_the_browser_is_opened_and_a_session_is_typed_on_the_page.__name__
    only_loopback = "import socket; assert [name for _, name in socket.if_nameindex()] == ['lo']"
    test = f"{Path(__file__).relative_to(ROOT)}::{inner}"
    commands = f'ip link set lo up && "$0" -c "{only_loopback}" && exec "$0" -m pytest -q -p no:cacheprovider {test}'
    done = subprocess.run(
        [*alone, commands, sys.executable], cwd=ROOT, capture_output=True, text=True, check=False, timeout=600
    )
    assert done.returncode == 0 and "skipped" not in done.stdout, done.stdout + done.stderr


def test_interrupted_the_page_says_that_the_program_has_stopped(tmp_path: Path, browser: Browser) -> None:
    with program(tmp_path, *GUIDE, "--no-browser") as process:
        tab = come_in(browser, address_of(process))
        process.send_signal(signal.SIGINT)
        expect(tab.locator("#doing-word")).to_have_text(DOING["closed"])
        assert process.stdout is not None
        said = process.stdout.read()
        assert process.wait(60) == 1
        assert "Go on with: companion resume" in said and "Traceback" not in said
        tab.close()


def test_killed_the_page_says_that_it_has_lost_the_program(tmp_path: Path, browser: Browser) -> None:
    with program(tmp_path, *GUIDE, "--no-browser") as process:
        tab = come_in(browser, address_of(process))
        process.kill()
        expect(tab.locator("#lost")).to_contain_text("has lost the program")
        tab.close()


def test_without_the_option_nothing_of_the_web_is_loaded(tmp_path: Path) -> None:
    env = {**os.environ, "COMPANION_HOME": str(tmp_path)}
    command = [sys.executable, "-X", "importtime", "-m", "companion", "demo", "--scenario", str(SCENE)]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0
    loaded = {line.rsplit("|", 1)[-1].strip() for line in done.stderr.splitlines()}
    assert "companion.conversation.turns" in loaded
    assert not {name for name in loaded if name.split(".")[0] in ("starlette", "uvicorn", "jinja2", "sse_starlette")}
    assert not {name for name in loaded if name.startswith("companion.web")}


def test_where_no_desktop_is_it_says_what_to_do(tmp_path: Path) -> None:
    if sys.platform != "linux":
        pytest.skip("only Linux runs without a desktop")
    with program(tmp_path, *GUIDE, DISPLAY="", WAYLAND_DISPLAY="") as process:
        address_of(process)
        assert process.stdout is not None
        assert "open the address in a browser on this machine" in process.stdout.readline()
