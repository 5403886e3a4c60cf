"""`companion export` as it is typed. File modes and refusals are common practice."""

import json
import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from companion.cli import main
from companion.exports.formats import FORMATS
from tests.exports.making import drill, insulin
from tests.exports.store import Store, running
from tests.realparts import need


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Types a command; gives its exit code, what it printed, and what it complained of."""

    def typed(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["companion", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return int(str(ended.value.code)), said.out, said.err

    return typed


@pytest.fixture
def store(monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.delenv("COMPANION_LRS_KEY", raising=False)
    monkeypatch.delenv("COMPANION_LRS_SECRET", raising=False)
    with running() as there:
        yield there


Run = Callable[..., tuple[int, str, str]]


def test_every_format_is_written_beside_the_record(run: Run, tmp_path: Path) -> None:
    record = insulin(tmp_path)
    before = record.read_bytes()
    for name, wanted in FORMATS.items():
        code, out, err = run("export", record, "--to", name)
        assert (code, out.strip(), err) == (0, f"{record}{wanted.suffix}", "")
        made = Path(out.strip())
        assert made.stat().st_size > 100
        if os.name == "posix":
            assert stat.S_IMODE(made.stat().st_mode) == 0o600
    assert record.read_bytes() == before
    assert len(list(tmp_path.iterdir())) == len(FORMATS) + 1


def test_several_at_once_go_to_a_folder(run: Run, tmp_path: Path) -> None:
    record = drill(tmp_path)
    (tmp_path / "out").mkdir()
    assert run("export", record, "--to", "csv", "--to", "summary", "--out", tmp_path / "out")[0] == 0
    assert len(list((tmp_path / "out").iterdir())) == 2
    code, _, err = run("export", record, "--to", "csv", "--to", "summary", "--out", tmp_path / "one.csv")
    assert code == 1 and "is no folder" in err


def test_what_is_there_is_kept_unless_told(run: Run, tmp_path: Path) -> None:
    record = drill(tmp_path)
    target = tmp_path / "mine.csv"
    target.write_text("mine")
    code, _, err = run("export", record, "--to", "csv", "--out", target)
    assert (code, target.read_text()) == (1, "mine")
    assert "--replace" in err
    assert run("export", record, "--to", "csv", "--out", target, "--replace")[0] == 0
    assert target.read_text().startswith("session,")


def test_a_record_is_never_written_over(run: Run, tmp_path: Path) -> None:
    record = drill(tmp_path)
    before = record.read_bytes()
    code, _, err = run("export", record, "--to", "csv", "--out", record, "--replace")
    assert (code, record.read_bytes()) == (1, before)
    assert "never takes the name of a record" in err


def test_a_folder_makes_one_table_and_names_what_is_left_out(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "records"
    for _ in range(2):
        insulin(folder, to="order")
    spoilt = insulin(folder, to="order")
    spoilt.write_bytes(spoilt.read_bytes().replace(b"fit and prepared", b"fit and prepares"))
    code, out, err = run("export", folder, "--to", "csv")
    assert code == 0 and f"left out: {spoilt}" in err
    lines = Path(out.strip().splitlines()[-1]).read_text().splitlines()
    assert len(lines) == 1 + 2
    code, _, err = run("export", folder, "--to", "summary")
    assert code == 1 and "accepted: csv, parquet" in err


def test_a_record_that_cannot_be_believed_is_not_exported(run: Run, tmp_path: Path) -> None:
    record = insulin(tmp_path)
    record.write_bytes(record.read_bytes().replace(b"eighteen units", b"eighty units  "))
    code, out, err = run("export", record, "--to", "fhir-r5")
    assert (code, out) == (1, "") and "broken at line" in err
    assert list(tmp_path.iterdir()) == [record]


def test_an_unfinished_one_is_exported_and_says_so(run: Run, tmp_path: Path) -> None:
    record = insulin(tmp_path, to="glucose", close=False)
    for name in FORMATS:
        code, out, _ = run("export", record, "--to", name)
        assert code == 0 and "Unfinished: this session was not ended" in out


def test_purging_takes_the_exports_along(run: Run, tmp_path: Path) -> None:
    """Every phrase that was said is looked for in what is left of the folder."""
    record = insulin(tmp_path)
    phrases = {
        line["body"]["event"]["phrase"]
        for line in map(json.loads, record.read_text().splitlines())
        if line["body"].get("event", {}).get("kind") == "replied"
    }
    assert run("export", record, *(word for name in FORMATS for word in ("--to", name)))[0] == 0
    assert len(phrases) > 30
    assert "eighteen units" in Path(f"{record}.captions.vtt").read_text()
    assert run("record", "purge", record, "--yes")[0] == 0
    assert list(tmp_path.iterdir()) == [record]
    left = record.read_text()
    assert not [phrase for phrase in phrases if phrase in left]
    code, _, err = run("export", record, "--to", "csv")
    assert code == 1 and "purged" in err


def test_sending_from_the_command_line(run: Run, store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record = drill(tmp_path)
    store.login = "ward:secret"
    code, _, err = run("export", record, "--send", store.address)
    assert code == 1 and "COMPANION_LRS_KEY" in err and not store.kept
    monkeypatch.setenv("COMPANION_LRS_KEY", "ward")
    monkeypatch.setenv("COMPANION_LRS_SECRET", "secret")
    code, out, _ = run("export", record, "--send", store.address, "--judged", "passed", "--score", "0.9")
    assert (code, out) == (0, f"{store.address}: 13 statements taken\n")
    code, out, _ = run("export", record, "--send", store.address, "--judged", "passed", "--score", "0.9")
    assert (code, out) == (0, f"{store.address}: 0 statements taken, 13 were there before\n")
    assert not list(tmp_path.glob("**/*.xapi.json"))


def test_an_unfinished_session_is_not_sent(run: Run, store: Store, tmp_path: Path) -> None:
    record = insulin(tmp_path, to="glucose", close=False)
    code, _, err = run("export", record, "--send", store.address)
    assert code == 1 and "statements cannot be taken back" in err
    assert store.posts == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "say what to export to with --to; accepted: captions, chapters, xapi"),
        (("--to", "word"), "`word` is no format to export to; accepted: captions"),
        (("--to", "xapi", "--judged", "maybe"), "accepted: passed or failed"),
        (("--to", "xapi", "--judged", "passed"), "--score is missing"),
        (("--to", "xapi", "--score", "0.5"), "--judged is missing"),
        (("--to", "xapi", "--judged", "passed", "--score", "half"), "accepted: a figure from -1 to 1"),
        (("--to", "xapi", "--judged", "passed", "--score", "7"), "accepted: -1 to 1"),
        (("--to", "csv", "--judged", "passed", "--score", "1"), "--judged goes with --to xapi"),
        (("--to", "csv", "--out", "no.jsonl"), "never takes the name of a record"),
    ],
)
def test_what_does_not_fit_is_named(run: Run, tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    record = drill(tmp_path)
    code, _, err = run("export", record, *words)
    assert code == 1 and said in err
    assert "Traceback" not in err


def test_a_file_that_is_not_there(run: Run, tmp_path: Path) -> None:
    code, _, err = run("export", tmp_path / "none.jsonl", "--to", "csv")
    assert code == 1 and "there is no such file" in err


def test_a_folder_that_cannot_be_written_to(run: Run, tmp_path: Path) -> None:
    need(hasattr(os, "geteuid"), "POSIX is needed")
    record = drill(tmp_path)
    (tmp_path / "file").write_text("")
    code, _, err = run("export", record, "--to", "csv", "--out", tmp_path / "file" / "out.csv")
    assert code == 1 and "cannot be written" in err
