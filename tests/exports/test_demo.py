"""The demo's own record, heard by the real recogniser: every export of it validates, and the table tells the durations
that `companion replay` shows."""

import importlib.util
import json
import re
import shutil
import subprocess
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path

import pytest

from companion.exports.formats import FORMATS
from tests.commands import companion
from tests.demo_session import DemoSession
from tests.exports.code_lists import strangers
from tests.exports.printing import sheets
from tests.realparts import need

_NEEDED = ("pocketsphinx", "webvtt", "ralph", "fhir", "duckdb")


def told(home: Path, *words: str) -> str:
    done = companion(*words, home=home, COLUMNS="400")
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def demo(demo_made: DemoSession, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The home folder and the record in it, with every export beside it."""
    for name in _NEEDED:
        need(importlib.util.find_spec(name) is not None, f"{name} is missing: pip install 'procedure-companion[dev]'")
    home = demo_made.into(tmp_path_factory.mktemp("demo"))
    (record,) = (home / "records").glob("*.jsonl")
    told(home, "export", str(record), *(word for name in FORMATS for word in ("--to", name)))
    return home, record


def test_captions_and_chapters(demo: tuple[Path, Path]) -> None:
    import webvtt

    spoken = [cue.text for cue in webvtt.read(f"{demo[1]}.captions.vtt").captions]
    assert spoken.count("exactly right") > 5 and "(figures opened: 18 and 81)" in spoken
    assert len(webvtt.read(f"{demo[1]}.chapters.vtt").captions) > 49


def test_statements(demo: tuple[Path, Path]) -> None:
    from ralph.models.xapi.base.statements import BaseXapiStatement

    made = json.loads(Path(f"{demo[1]}.xapi.json").read_bytes())
    assert len([BaseXapiStatement.model_validate(statement) for statement in made]) > 49


@pytest.mark.parametrize("release", ["r4b", "r5"])
def test_bundles(demo: tuple[Path, Path], release: str) -> None:
    from fhir.resources.bundle import Bundle
    from fhir.resources.R4B.bundle import Bundle as Older

    text = Path(f"{demo[1]}.fhir-{release}.json").read_text(encoding="utf-8")
    (Bundle if release == "r5" else Older).model_validate_json(text)
    made = json.loads(text, parse_int=Decimal, parse_float=Decimal)
    assert list(strangers(made, release.upper())) == []
    kinds = [entry["resource"]["resourceType"] for entry in made["entry"]]
    assert kinds.count("MedicationAdministration") == 1
    (given,) = (entry["resource"] for entry in made["entry"] if "dosage" in entry["resource"])
    assert (given["status"], given["dosage"]["dose"]["value"]) == ("completed", Decimal(18))


def test_the_table_tells_what_replay_shows(demo: tuple[Path, Path]) -> None:
    import duckdb

    with duckdb.connect() as base:
        found = base.execute(f"SELECT took_ms FROM '{demo[1]}.steps.parquet' ORDER BY place").fetchall()
    table = told(demo[0], "replay", str(demo[1])).split("Steps that stand confirmed")[1]
    shown = re.findall(r"(\d+\.\d) s\b", table)
    assert len(found) > 49
    assert shown == [str((Decimal(ms) / 1000).quantize(Decimal("0.1"), ROUND_HALF_EVEN)) for (ms,) in found]


def test_the_page(demo: tuple[Path, Path], tmp_path: Path) -> None:
    page = Path(f"{demo[1]}.summary.html").read_text(encoding="utf-8")
    assert "intact and closed" in page and "18 units, subcutaneous, left abdomen" in page
    assert sheets(page.encode("utf-8"), tmp_path) == 1


def test_after_purging_nothing_that_was_said_is_found_in_the_folder(demo: tuple[Path, Path], tmp_path: Path) -> None:
    """In a copy, as a user would leave it. Every reply, prompt, figure, key and title of the session is
    looked for by grep, in the record, in every export beside it and in the tables of the folder."""
    home, record = tmp_path / "home", demo[1].name
    shutil.copytree(demo[0], home)
    path = home / "records" / record
    told(home, "export", str(path.parent), "--to", "csv", "--to", "parquet")
    entries = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    bodies = [entry["body"] for entry in entries if entry["kind"] == "event"]
    said = {say["text"] for body in bodies for say in body["says"]}
    said |= {body["event"][name] for body in bodies for name in ("phrase", "seal") if name in body["event"]}
    # Two digits stand in many a hash: figures are looked for as the record writes them.
    said |= {f'"first":"{body["event"]["first"]}"' for body in bodies if "first" in body["event"]}
    said |= {line.strip() for line in entries[0]["body"]["procedure_text"].splitlines() if len(line.strip()) > 12}
    said |= {entries[0]["body"]["procedure_sha256"], entries[0]["body"]["salt"]}
    said |= {'"second":"81"', "pocketsphinx", "fLaC"}
    assert len(said) > 300
    receipt = entries[-1]["body"]["receipt"]

    patterns = tmp_path / "patterns"
    patterns.write_text("\n".join(sorted(said)) + "\n", encoding="utf-8")
    search = ["grep", "-rohF", "-f", str(patterns), str(path.parent)]
    before = subprocess.run(search, capture_output=True, text=True, check=True).stdout
    assert len(set(before.splitlines())) > 100

    shown = told(home, "record", "purge", str(path), "--yes")
    assert ": purged, chain intact, " in shown
    assert list(path.parent.iterdir()) == [path]
    found = subprocess.run(search, capture_output=True, text=True, check=False)
    assert (found.returncode, found.stdout) == (1, "")
    verified = told(home, "record", "verify", str(path.parent), "--receipt", receipt)
    assert "purged, chain intact" in verified and "the receipt matches" in verified
