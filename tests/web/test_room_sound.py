"""Sound kept with a session, played in real chromium: its own clips play and can be sought in, nobody else's are given.

The ranges are checked against RFC 9110, 14 (Range Requests) and 15.5.17 (416)."""

import http.client
import math
import shutil
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, expect

from companion.clocks import SimulatedClock
from companion.conversation.parts import opening_of
from companion.ports.sound import SAMPLE_RATE
from companion.procedure.loading import load
from companion.record.clips import AGREEMENT, SOUND, ClipBox, sound_folder
from companion.record.writer import RecordWriter
from companion.session.events import Started
from companion.web.server import LocalServer
from tests.conversation.rig import DRILL
from tests.record.making import UnsyncedFiles, key
from tests.review.cohorts import BEGUN
from tests.web.rooms import inside, known_home
from tests.web.test_security import cookie

SECONDS = 3.0
NUMBER = 2
"""Of the entry whose sound it is: the opening is 0, the agreement 1."""


def with_sound(folder: Path, name: str, hertz: float) -> Path:
    """A session whose first entry has a clip: a tone, so that one session's is not the other's."""
    loaded, now = load(DRILL), SimulatedClock(BEGUN)
    opening = opening_of(loaded, "rehearsal")
    writer = RecordWriter.create(folder / name, opening, now, key(), UnsyncedFiles())
    writer.append(AGREEMENT, {"state": "given", "voices": 1, "tags": ["41"], "by": "key"}, 0)
    started = Started(at_ms=0, performer="41", today="2030-05-06")
    told = {"event": started.model_dump(mode="json"), "says": [], "status": "running", "step": ""}
    writer.append("event", told, 0)
    wave = np.sin(2 * math.pi * hertz * np.arange(int(SECONDS * SAMPLE_RATE)) / SAMPLE_RATE)
    writer.append(SOUND, {**ClipBox(writer.path).put((wave * 9000).astype(np.int16)), "of": NUMBER}, 100)
    writer.close()
    return writer.path


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COMPANION_HOME", str(known_home(tmp_path / "home")))
    made = tmp_path / "records"
    with_sound(made, "one.jsonl", 440)
    with_sound(made, "two.jsonl", 660)
    return made


def get(server: LocalServer, path: str, **headers: str) -> tuple[int, bytes, str]:
    """Status, body, and which part it is."""
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)
    connection.request("GET", server.door.root + path, headers={"Cookie": cookie(server), **headers})
    found = connection.getresponse()
    data, part = found.read(), found.headers.get("Content-Range", "")
    connection.close()
    return found.status, data, part


WATCH = """clip => {
  clip.muted = true;
  clip.onerror = () => (clip.dataset.told = clip.error.message);
  for (const kind of ["loadedmetadata", "seeked", "ended"]) {
    clip.addEventListener(kind, () => (clip.dataset.told = `${kind} ${clip.currentTime.toFixed(1)}`));
  }
}"""
"""Leaves on the element what happened last."""


def test_a_clip_plays_and_can_be_sought_in(browser: Browser, server: LocalServer) -> None:
    tab = inside(browser, server, "/session/one.jsonl")
    sound = tab.locator("#moments audio")
    expect(sound).to_have_attribute("preload", "none")  # nothing is fetched before it is wanted
    sound.evaluate(WATCH)
    sound.evaluate("clip => { clip.preload = 'auto'; clip.load(); }")
    expect(sound).to_have_attribute("data-told", "loadedmetadata 0.0")
    length = pytest.approx(SECONDS, abs=0.01)
    assert sound.evaluate("clip => [clip.duration, clip.seekable.start(0), clip.seekable.end(0)]") == [
        length,
        0,
        length,
    ]
    for place in (2.9, 0.5, 2.5):
        sound.evaluate("(clip, place) => { clip.currentTime = place; }", place)
        expect(sound).to_have_attribute("data-told", f"seeked {place}")
    sound.evaluate("clip => { clip.play(); }")
    expect(sound).to_have_attribute("data-told", f"ended {SECONDS}")
    tab.context.close()


def test_the_player_plays_the_clip_of_the_moment(browser: Browser, server: LocalServer) -> None:
    tab = inside(browser, server, "/session/two.jsonl")
    sound = tab.locator("#moments audio")
    sound.evaluate("clip => { clip.muted = true; clip.onplaying = () => (clip.dataset.played = 'yes'); }")
    tab.get_by_label("Aloud").check()
    tab.get_by_role("button", name="Play").click()
    expect(sound).to_have_attribute("data-played", "yes")
    tab.context.close()


def test_a_clip_of_another_session_is_refused(browser: Browser, server: LocalServer, folder: Path) -> None:
    """Its bytes under this session's name, and its folder by way of this session's address."""
    other = sound_folder(folder / "two.jsonl") / "0001.flac"
    shutil.copy(other, sound_folder(folder / "one.jsonl") / "0001.flac")
    status, said, _ = get(server, "/session/one.jsonl/clip/2")
    assert status == 409 and b"changed" in said and b"RIFF" not in said
    for wrong in ("..%2Ftwo.jsonl.sound%2F0001.flac", "%2e%2e", "0001.flac"):
        status, said, _ = get(server, f"/session/one.jsonl/clip/{wrong}")
        assert status == 404 and b"RIFF" not in said
    assert get(server, "/session/two.jsonl/clip/2")[0] == 200
    tab = inside(browser, server, "/session/one.jsonl")
    expect(tab.locator(".verified")).to_contain_text("changed")
    sound = tab.locator("#moments audio")
    sound.evaluate("clip => { clip.onerror = () => (clip.dataset.told = clip.error.code); clip.load(); clip.play(); }")
    expect(sound).to_have_attribute("data-told", "4")  # MEDIA_ERR_SRC_NOT_SUPPORTED (HTML standard)
    tab.context.close()


def test_parts_of_a_clip_are_given_as_asked(server: LocalServer) -> None:
    path = "/session/one.jsonl/clip/2"
    status, whole, part = get(server, path)
    size = len(whole)
    assert (status, part) == (200, "") and size > SECONDS * SAMPLE_RATE * 2
    for asked, begin, end in (
        ("0-", 0, size - 1),
        ("4-9", 4, 9),
        ("-5", size - 5, size - 1),
        (f"10-{size + 9}", 10, size - 1),
    ):
        wanted = (206, whole[begin : end + 1], f"bytes {begin}-{end}/{size}")
        assert get(server, path, Range=f"bytes={asked}") == wanted, asked
    assert get(server, path, Range=f"bytes={size}-") == (416, b"", f"bytes */{size}")
    for passed_over in ("bytes=0-1,4-5", "lines=0-1", "bytes=-", "bytes=x-"):
        assert get(server, path, Range=passed_over)[0] == 200, passed_over
