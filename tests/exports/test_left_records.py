"""Every record that the commands leave is exported, replayed and verified, whatever it is and however it ended.

The formats are held against their own libraries, as in the tests of each; that a rehearsal is exported at all is what
an educator asked for.
"""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from companion.errors import UsageError
from companion.exports.formats import FORMATS, find_format
from companion.exports.source import Source, load_source
from companion.record.keys import own_key
from companion.review.marks import marks_from
from companion.review.marks_file import save_marks
from tests.commands import inside
from tests.exports.test_xapi import model, verbs
from tests.left_records import DOUBTFUL, IN_DOUBT, KINDS, OUTCOMES, REHEARSED, LeftRecords
from tests.record.making import clock
from tests.review.parts import part

__all__ = ["model"]


@pytest.fixture
def left(left_made: LeftRecords, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> LeftRecords:
    """Records of a test's own, with the folder of the user who made them."""
    home = left_made.into(tmp_path / "left")
    monkeypatch.setenv("COMPANION_HOME", str(home.home))
    return home


@pytest.fixture
def source(left: LeftRecords) -> Callable[[str], Source]:
    return lambda kind: load_source(left.path(kind))


def run(*words: str) -> str:
    """What a command says that goes well."""
    code, said = inside(*words)
    assert code == 0, (words, said)
    return said


def decided(left: LeftRecords, marker: str, decision: str) -> Source:
    """The undecided rehearsal, once this marker has decided."""
    path = left.path("rehearsed undecided")
    items = [{"step": IN_DOUBT, "decision": decision}]
    save_marks(
        load_source(path).record,
        marks_from({"marker": marker, "items": items}),
        0,
        clock(),
        own_key(left.home / "keys"),
    )
    return load_source(path)


@pytest.mark.parametrize("kind", KINDS)
def test_each_has_an_outcome_and_keeps_its_words(source: Callable[[str], Source], kind: str) -> None:
    found = source(kind)
    assert found.verdict.outcome == OUTCOMES[kind]
    assert found.told.rehearsed == (kind in REHEARSED)
    said = [entry.body["text"] for entry in found.record.entries if entry.kind == "utterance"]
    assert [moment.uttered.text for moment in found.told.moments if moment.uttered] == said
    assert bool(said) == (kind in REHEARSED)


@pytest.mark.parametrize("kind", KINDS)
def test_each_is_told_in_every_format(left: LeftRecords, kind: str) -> None:
    path = left.path(kind)
    assert "intact" in run("replay", str(path))
    code, said = inside("record", "verify", str(path))
    assert code == (3 if kind.endswith("open") else 0) and "intact" in said
    for name in FORMATS:
        if not name.startswith("fhir") or kind not in REHEARSED:
            run("export", str(path), "--to", name)


@pytest.mark.parametrize("kind", REHEARSED)
def test_what_was_only_talked_about_is_no_health_data(source: Callable[[str], Source], kind: str) -> None:
    for release in ("fhir-r4b", "fhir-r5"):
        with pytest.raises(UsageError, match="nothing was done or given, so there is no FHIR bundle of it; accepted"):
            FORMATS[release].make([source(kind)])


def test_several_formats_are_written_together_or_not_at_all(left: LeftRecords, tmp_path: Path) -> None:
    """A rehearsal's table had been written and its summary not, for the FHIR bundle that stood between them."""
    path = left.path("rehearsed passed")
    wanted = [word for name in ("csv", "fhir-r4b", "summary") for word in ("--to", name)]
    (tmp_path / "out").mkdir()
    with pytest.raises(UsageError, match="no FHIR bundle of it"):
        inside("export", str(path), *wanted, "--out", str(tmp_path / "out"))
    assert list((tmp_path / "out").iterdir()) == []


def test_fhir_without_a_release_is_told_which_there_are() -> None:
    with pytest.raises(UsageError, match="accepted: fhir-r4b or fhir-r5"):
        find_format("fhir")


def test_a_folder_goes_into_one_table_whole(left: LeftRecords) -> None:
    assert "left out" not in run("export", str(left.home / "records"), "--to", "csv")
    table = (left.home / "records" / "all.steps.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(table)))
    named = {row["session"]: row["outcome"] for row in rows}
    wanted = {str(load_source(left.path(kind)).session): OUTCOMES[kind] for kind in KINDS}
    assert named == wanted, "one in which no step stands is not missing"
    (none,) = [row for row in rows if not row["step"]]
    assert (none["outcome"], none["note"]) == ("abandoned", "no step stands")
    unjudged = [row["step"] for row in rows if row["note"] == "cannot be judged"]
    assert unjudged == [row["step"] for row in rows if row["outcome"] == "not judged"] and unjudged
    (doubt,) = [row for row in rows if row["outcome"] == "undecided" and row["step"] == IN_DOUBT]
    assert (doubt["phrases"], doubt["note"], doubt["place"]) == (DOUBTFUL, "perhaps said; not decided yet", "0")
    omitted = [row["step"] for row in rows if row["note"] == "not said"]
    judgement = load_source(left.path("rehearsed not passed")).told.judgement
    assert judgement is not None
    assert omitted == [finding.step for finding in judgement.findings if finding.kind == "omitted"]


@pytest.mark.parametrize("kind", REHEARSED)
def test_its_statements_are_valid(source: Callable[[str], Source], kind: str, model: Any) -> None:
    made = json.loads(FORMATS["xapi"].make([source(kind)]))
    for statement in made:
        model.model_validate(statement)
    ids = [statement["id"] for statement in made]
    assert len(set(ids)) == len(ids)
    last = {"rehearsed passed": "passed", "rehearsed not passed": "failed", "rehearsed open": "initialized"}
    assert verbs(made)[-1] == last.get(kind, "completed"), "nobody is told to have passed or failed who waits"


def test_what_an_educator_decides_is_told(left: LeftRecords, model: Any) -> None:
    before = json.loads(FORMATS["xapi"].make([load_source(left.path("rehearsed undecided"))]))
    (outcome,) = before[-1]["result"]["extensions"].values()
    assert outcome == "undecided"
    found = decided(left, "27", "not said")
    assert found.verdict.outcome == "not passed"
    after = json.loads(FORMATS["xapi"].make([found]))
    assert after[: len(before)] == before, "statements cannot be changed"
    assert verbs(after)[len(before) :] == ["failed", "commented"]
    assert after[-1]["actor"]["account"]["name"] == "27"
    assert after[-1]["result"]["response"] == "decided: not said"
    for statement in after:
        model.model_validate(statement)
    page = FORMATS["summary"].make([found]).decode()
    assert DOUBTFUL in page and "not said, by marker 27" in page
    assert "perhaps said; not said, by marker 27" in FORMATS["csv"].make([found]).decode()
    assert decided(left, "31", "said").verdict.outcome == "undecided", "two who decide differently decide nothing"


@pytest.mark.parametrize("kind", [kind for kind in REHEARSED if kind != "rehearsed open"])
def test_captions_hold_every_word(source: Callable[[str], Source], kind: str) -> None:
    webvtt: Any = part("webvtt", "webvtt-py")
    found = source(kind)
    captions = webvtt.from_string(FORMATS["captions"].make([found]).decode())
    spoken = " ".join(cue.text.replace("&amp;", "&") for cue in captions)
    for moment in found.told.moments:
        if moment.uttered is not None:
            assert moment.uttered.text in spoken
