"""Pages of the room that need no browser to be looked at: sessions from memory, and sound kept with a record."""

import io
import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.record.clips import clips_of, sound_folder
from companion.record.reader import read_record
from companion.web.server import LocalServer
from tests.left_records import DOUBTFUL, IN_DOUBT, LeftRecords
from tests.web.rooms import known_home
from tests.web.test_security import Answer, ask, cookie

WITH_SOUND = Path(__file__).parents[1] / "data" / "records" / "version-2.jsonl"


@pytest.fixture
def folder(left_made: LeftRecords, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two rehearsals, and a session with sound."""
    home = left_made.into(tmp_path / "home")
    monkeypatch.setenv("COMPANION_HOME", str(known_home(home.home)))
    made = tmp_path / "records"
    made.mkdir()
    shutil.copy(home.path("rehearsed not passed"), made / "failed.jsonl")
    shutil.copy(home.path("rehearsed undecided"), made / "doubtful.jsonl")
    shutil.copy(WITH_SOUND, made)
    shutil.copytree(sound_folder(WITH_SOUND), sound_folder(made / WITH_SOUND.name))
    return made


def get(server: LocalServer, path: str) -> Answer:
    return ask(server, "GET", path, Cookie=cookie(server))


def test_findings_of_a_rehearsal_stand_where_it_is_shown(server: LocalServer) -> None:
    text = get(server, "/session/failed.jsonl").text
    for words in ("Not passed", "omitted", "Sixth motion: it was not said.", "hint", "from memory"):
        assert words in text
    in_doubt = get(server, "/session/doubtful.jsonl").text
    assert "Waits for you" in in_doubt and "Not passed" not in in_doubt and DOUBTFUL in in_doubt
    assert "Unfinished" not in text and "Verified: intact and closed" in text
    assert "not passed" in get(server, "/").text
    assert get(server, "/session/failed.jsonl/mark?marker=27").text.count("data-step=") == 22
    figures = get(server, "/class/steps.csv?procedure=hand-hygiene").text.splitlines()
    assert figures[0].split(",")[6:10] == ["missed", "doubtful", "late", "out_of_order"]
    assert any(line.startswith("fingertips,") and line.split(",")[6] == "1" for line in figures)
    assert any(line.startswith(f"{IN_DOUBT},") and line.split(",")[6:8] == ["0", "1"] for line in figures)


def read_bytes(server: LocalServer, path: str) -> tuple[int, bytes]:
    import http.client

    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)
    connection.request("GET", server.door.root + path, headers={"Cookie": cookie(server)})
    found = connection.getresponse()
    data = found.read()
    connection.close()
    return found.status, data


def test_a_clip_is_given_out_as_its_entry_names_it_and_not_otherwise(server: LocalServer, folder: Path) -> None:
    record = folder / WITH_SOUND.name
    (clip,) = clips_of(read_record(record).entries)
    path = f"/session/{record.name}/clip/{clip.of}"
    file = sound_folder(record) / clip.file
    status, given = read_bytes(server, path)
    heard, rate = soundfile.read(io.BytesIO(given), dtype="int16")
    kept, kept_rate = soundfile.read(file, dtype="int16")
    assert status == 200 and rate == kept_rate and np.array_equal(heard, kept), "sample by sample"
    for wrong in ("0", "99", "-1", "..%2f" + record.name, "x"):
        assert read_bytes(server, f"/session/{record.name}/clip/{wrong}")[0] == 404
    file.write_bytes(file.read_bytes()[:-1] + b"\0")
    assert read_bytes(server, path)[0] == 409
