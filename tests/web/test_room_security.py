"""What the review room must not do, whatever it is asked and whatever a record holds.

The rules are those of `test_security`, tried on the room's own addresses; markup and size of what a record says are
this room's own matter."""

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from companion.clocks import SimulatedClock
from companion.conversation.parts import opening_of
from companion.machine.machine import Machine
from companion.procedure.loading import load
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.review.marks_file import marks_path
from companion.session.events import AnyEvent, Missed, Started
from companion.session.state import State
from companion.web.server import LocalServer
from tests.conversation.rig import DRILL
from tests.record.making import UnsyncedFiles, key
from tests.review.cohorts import BEGUN, guided, mark
from tests.review.making import marks
from tests.web.rooms import Listener, inside, known_home, within
from tests.web.test_security import Answer, ask, cookie

SCRIPT = "<script>window.ran = 1</script><img src=x onerror='window.ran = 1'><a href='javascript:ran=1'>x</a>"
REMARK = "<script>window.ran = 1</script><b>done</b>"
"""Of words that lists hold; what else there is is no remark."""
FINE = {"marker": "27", "seen": 0, "items": [{"step": "identify", "mark": "done"}], "rating": 3}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COMPANION_HOME", str(known_home(tmp_path / "home")))
    guided(tmp_path / "records", 2)
    (tmp_path / "secret.jsonl").write_bytes(b'{"secret": "root:"}\n')
    return tmp_path / "records"


@pytest.fixture
def record(folder: Path) -> Path:
    return sorted(folder.glob("*.jsonl"))[0]


def post(server: LocalServer, path: str, body: Any, **headers: str) -> Answer:
    """A change as our own page asks for it, unless headers say otherwise."""
    given = {"Cookie": cookie(server), "Origin": server.origin, **headers}
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return ask(server, "POST", path, data, **{name: text for name, text in given.items() if text})


def get(server: LocalServer, path: str) -> Answer:
    return ask(server, "GET", path, Cookie=cookie(server))


def said(folder: Path, reason: str, name: str = "said.jsonl") -> Path:
    """A record of the drill, closed and whole, in which the program is said to have said `reason`."""
    loaded, clock = load(DRILL), SimulatedClock(BEGUN)
    opening = opening_of(loaded, "rehearsal")
    writer = RecordWriter.create(folder / name, opening, clock, key(), UnsyncedFiles())
    machine, state = Machine(loaded.procedure), State()
    started = Started(at_ms=0, performer="41", today="2030-05-06")
    events: list[AnyEvent] = [started, Missed(at_ms=5, why="unclear", nearest=reason[:900], reason="it was not clear")]
    for event in events:
        state, says = machine.step(state, event)
        told = [{"text": say.text, "tone": say.tone} for say in says] or [{"text": reason, "tone": "answer"}]
        body = {"event": event.model_dump(mode="json"), "says": told}
        writer.append("event", body, event.at_ms)
    writer.finish("abandoned", 10)
    writer.close()
    return writer.path


@pytest.mark.parametrize("action", ["mark", "say", "hush"])
@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": ""},
        {"Origin": "null"},
        {"Origin": "http://evil.example"},
        {"Host": "evil.example"},
        {"Cookie": ""},
        {"Cookie": "companion=x"},
    ],
    ids=lambda headers: " ".join(f"{name}={text}" for name, text in headers.items()),
)
def test_a_change_from_elsewhere_is_refused(
    server: LocalServer, record: Path, voice: Listener, action: str, headers: dict[str, str]
) -> None:
    path = "/hush" if action == "hush" else f"/session/{record.name}/{action}"
    answer = post(server, path, {**FINE, "n": 1}, **headers)
    assert answer.status in (400, 403, 421)
    assert not marks_path(record, "27").exists() and voice.said == []


def test_our_own_page_is_served(server: LocalServer, record: Path, voice: Listener) -> None:
    assert post(server, f"/session/{record.name}/mark", FINE).status == 200
    assert marks_path(record, "27").exists()
    assert post(server, f"/session/{record.name}/say", {"n": 1}).status == 200 and voice.said


@pytest.mark.parametrize(
    "name",
    ["..%2fsecret.jsonl", "%2e%2e%2fsecret.jsonl", "..%5csecret.jsonl", "../secret.jsonl", "%2fetc%2fpasswd",
     "..%252fsecret.jsonl", ".", "..", "%00", "secret.jsonl", "{name}%00", "{name}/../../secret.jsonl", "{name}%2f."],
)  # fmt: skip
@pytest.mark.parametrize("more", ["", "/mark", "/timeline.csv", "/paper.html"])
def test_no_name_leads_out_of_the_folder(server: LocalServer, record: Path, name: str, more: str) -> None:
    answer = get(server, f"/session/{name.format(name=record.name)}{more}")
    assert answer.status in (400, 404) and "root:" not in answer.text


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"not json", "not JSON"),
        (b"[" * 5000, "not JSON"),
        (b"[]", "no JSON object"),
        ({**FINE, "seen": None}, "filled in from is missing"),
        ({**FINE, "seen": "0"}, "filled in from is missing"),
        ({**FINE, "marker": "../../x"}, "two or three digits"),
        ({**FINE, "marker": None}, "two or three digits"),
        ({**FINE, "rating": 9}, "1 to 4"),
        ({**FINE, "items": "x"}, "a step's mark"),
        ({**FINE, "items": [{"step": "no-such-step", "mark": "done"}]}, "no step of this procedure"),
        ({**FINE, "items": [{"step": "identify"}] * 501}, "a step's mark"),
        ({**FINE, "remark": "Born 3 May 1971"}, "nobody is named"),
        ({**FINE, "remark": "\ud800"}, "plain text"),
        ({**FINE, "extra": 1}, "no such part"),
        ({**FINE, "seen": 7}, "in the meantime"),
    ],
)
def test_what_is_no_marking_is_refused_in_a_sentence(server: LocalServer, record: Path, body: Any, says: str) -> None:
    answer = post(server, f"/session/{record.name}/mark", body)
    assert answer.status == 400 and says in json.loads(answer.text)["problem"]
    assert not any(path.stat().st_size for path in record.parent.glob("*.marks-*"))


@pytest.mark.parametrize("n", [None, -1, 10**9, "1", [1], True, 1.5])
def test_there_is_nothing_to_say_but_what_the_record_says(
    server: LocalServer, record: Path, voice: Listener, n: Any
) -> None:
    answer = post(server, f"/session/{record.name}/say", {"n": n, "text": "say this"})
    assert "say this" not in voice.said
    assert answer.status == 400 or n in (True,)


def test_script_in_a_record_or_remark_is_only_text(
    server: LocalServer, folder: Path, record: Path, browser: Browser
) -> None:
    evil = said(folder, SCRIPT, "<b>name&'\".jsonl")
    mark(record, marks("27", remark=REMARK, items=[{"step": "identify", "mark": "done", "remark": REMARK}]))
    mark(record, marks("31", remark="", items=[{"step": "identify", "mark": "done"}]))
    tab = inside(browser, server)
    problems: list[str] = []
    tab.on("console", lambda message: problems.append(message.text))
    tab.on("pageerror", lambda fault: problems.append(str(fault)))
    tab.goto(within(server) + "/")
    tab.get_by_role("row").filter(has_text="2030-05-06").get_by_role("link").click()
    assert tab.locator("#moments").inner_text().count("<script>") >= 1
    assert tab.locator("main script, main img, main a[href^=javascript]").count() == 0
    shown = [
        "/", "/class?procedure=drill", "/class", "/agreement", f"/session/{record.name}",
        f"/session/{record.name}/mark?marker=27", f"/class?performer={SCRIPT}", f"/agreement?first={SCRIPT}&second=27",
    ]  # fmt: skip
    for path in shown:
        tab.goto(within(server) + path)
        assert tab.evaluate("window.ran") is None and tab.locator("main script, main img").count() == 0
    assert tab.locator("b").filter(has_text="name").count() == 0
    assert [text for text in problems if "status of 4" not in text] == []
    for path in (f"/session/{record.name}/paper.html", "/class/paper.html?procedure=drill"):
        kept = get(server, path).text
        assert "<script" not in kept and "<img" not in kept
    tab.context.close()
    assert evil.exists()


def test_every_link_stays_behind_the_door_and_none_is_kept_on_paper(server: LocalServer, record: Path) -> None:
    mark(record, marks("27"))
    pages = ("/", "/class", "/agreement", f"/session/{record.name}", f"/session/{record.name}/mark?marker=27")
    for path in pages:
        links = re.findall(r'(?:href|src|action|data-[a-z]+)="(/[^"]*)"', get(server, path).text)
        assert [link for link in links if not link.startswith((f"{server.door.root}/", "/assets/"))] == [], path
        assert len(links) > 5
    for path in ("/class/paper.html", f"/session/{record.name}/paper.html", "/agreement/paper.html"):
        assert server.door.root not in get(server, path).text
    assert server.door.root not in ask(server, "GET", "/").text


def test_a_formula_in_a_remark_is_text_in_a_spreadsheet(server: LocalServer, folder: Path) -> None:
    said(folder, "=cmd|' /C calc'!A0")
    assert "'=cmd" in get(server, "/class/phrases.csv?procedure=drill").text


def test_ten_megabytes_in_one_entry_are_shown_cut(server: LocalServer, folder: Path) -> None:
    """The record verifies, so it is shown; the text is not."""
    path = said(folder, "long " * 2_000_000)
    assert path.stat().st_size > 10_000_000
    answer = get(server, f"/session/{path.name}")
    assert answer.status == 200 and len(answer.text) < 200_000
    assert "more characters, too many to show" in answer.text
    for other in ("/", "/class?procedure=drill"):
        assert len(get(server, other).text) < 300_000


@pytest.mark.parametrize(
    "line",
    [
        b'{"n":1,"x":"' + b"y" * 10_000_000 + b'"}\n',
        b"z" * 10_000_000,
        b"z" * 40_000_000 + b"\n",
        b"[" * 10_000_000 + b"\n",
    ],
    ids=["an object", "not finished", "longer than any line", "deep"],
)
def test_a_line_of_ten_megabytes_or_more_is_refused_in_one_sentence(
    server: LocalServer, record: Path, line: bytes
) -> None:
    with record.open("ab") as file:
        file.write(line)
    answer = get(server, f"/session/{record.name}")
    assert answer.status == 409 and "cannot be shown" in answer.text and len(answer.text) < 5000
    assert "Traceback" not in answer.text
    assert get(server, "/").status == 200 and get(server, "/class").status == 200


def test_a_file_larger_than_any_session_is_not_read(server: LocalServer, folder: Path) -> None:
    huge = folder / "huge.jsonl"
    with huge.open("wb") as file:
        file.truncate(65 * 1024 * 1024)
    answer = get(server, f"/session/{huge.name}")
    assert answer.status == 409 and "which no session comes near" in answer.text


def test_a_changed_record_is_not_shown(server: LocalServer, record: Path) -> None:
    data = record.read_bytes()
    record.write_bytes(data.replace(b'"phrase":"', b'"phrase":"x', 1))
    answer = get(server, f"/session/{record.name}")
    assert answer.status == 409 and "changed" in answer.text and "moments" not in answer.text
    assert post(server, f"/session/{record.name}/mark", FINE).status == 409


def test_a_changed_record_beside_the_cache_is_noticed(server: LocalServer, record: Path) -> None:
    """What was read is kept; opening a session reads and verifies the file itself."""
    assert get(server, "/").status == 200
    shutil.copy(record, record.with_name("other.jsonl"))
    read_record(record)
    record.write_bytes(record.read_bytes()[:-200])
    assert get(server, f"/session/{record.name}").status in (200, 409)
    assert "Verified: intact and closed" not in get(server, f"/session/{record.name}").text
