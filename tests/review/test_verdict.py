"""What educators decide where the program was in doubt, and what then becomes of a rehearsal.

That a critical step missed fails whatever the rest, and that examiners who differ have decided nothing, is common
practice of examinations.
"""

from collections.abc import Mapping
from pathlib import Path

import pytest

from companion.errors import UsageError
from companion.exports.source import load_source
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.review.cohort import figures, listing
from companion.review.cohort.base import Base
from companion.review.cohort.filters import Filters, largest_group
from companion.review.cohort.intake import take_in
from companion.review.marks import ItemMark, Marks, marks_from
from companion.review.marks_file import marks_path, save_marks
from companion.review.timeline import timeline
from companion.review.verdict import judged
from companion.session.findings import Judgement
from tests.left_records import IN_DOUBT, KINDS, OUTCOMES, PROCEDURE, LeftRecords
from tests.record.making import clock, key


@pytest.fixture
def left(left_made: LeftRecords, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> LeftRecords:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path / "home"))
    return left_made.into(tmp_path / "home")


@pytest.fixture
def judgement(left_made: LeftRecords) -> Judgement:
    """Of the rehearsal in doubt."""
    found = timeline(read_record(left_made.path("rehearsed undecided"))).judgement
    assert found is not None and [finding.step for finding in found.doubtful] == [IN_DOUBT]
    return found


def decides(marker: str, decision: str) -> Marks:
    return marks_from({"marker": marker, "items": [{"step": IN_DOUBT, "decision": decision}]})


@pytest.mark.parametrize(
    ("decisions", "outcome", "words"),
    [
        ({}, "undecided", "not decided yet"),
        ({"27": "said"}, "passed", "said, by marker 27"),
        ({"27": "not said"}, "not passed", "not said, by marker 27"),
        ({"27": "said", "31": "said"}, "passed", "said, by marker 27 and 31"),
        ({"27": "said", "31": "not said"}, "undecided", "still undecided: said, by marker 27; not said, by marker 31"),
    ],
)
def test_what_is_decided_counts(judgement: Judgement, decisions: Mapping[str, str], outcome: str, words: str) -> None:
    found = judged(judgement, [decides(marker, decision) for marker, decision in decisions.items()])
    assert found.outcome == outcome
    assert [doubt.in_words for doubt in found.doubts] == [words]


def test_a_decision_makes_up_for_nothing_else(judgement: Judgement) -> None:
    """A critical step left out fails, though the one in doubt was said; where nothing must pass, nothing fails."""
    gone = judgement.doubtful[0].model_copy(update={"kind": "omitted", "step": "nails", "critical": True, "heard": ()})
    failed = judgement.model_copy(update={"findings": (*judgement.findings, gone)})
    assert judged(failed, [decides("27", "said")]).outcome == "not passed"
    lenient = judgement.model_copy(update={"must_pass": False, "passed": True})
    assert judged(lenient, [decides("27", "not said")]).outcome == "passed"
    unjudged = judgement.model_copy(update={"not_judged": "nothing can be recognised"})
    assert judged(unjudged, [decides("27", "said")]).outcome == "not judged"


def test_marks_and_decisions_leave_each_other_alone() -> None:
    marked = marks_from({"marker": "27", "items": [{"step": "palms", "mark": "done", "remark": "Calm."}], "rating": 3})
    both = marked.deciding({IN_DOUBT: "said"})
    assert (both.judged, both.decisions, both.texts) == ({"palms": "done"}, {IN_DOUBT: "said"}, (("palms", "Calm."),))
    assert both.deciding({}) == marked.model_copy(update={"items": (*marked.items, ItemMark(step=IN_DOUBT))})
    with pytest.raises(UsageError, match="a decision of said or not said"):
        decides("27", "perhaps")


def test_only_a_known_key_decides(left: LeftRecords) -> None:
    path = left.path("rehearsed undecided")
    save_marks(read_record(path), decides("27", "said"), 0, clock(), key(99))
    found = load_source(path)
    assert found.verdict.outcome == "undecided" and "unknown key" in found.left_out[0]
    with Base(left.home / "records", left.home / "cache") as base:
        take_in(base)
        (line,) = listing.lines(base, Filters(outcome="undecided"))
        assert line.file == path.name


def test_marks_of_before_decisions_stay_readable(left: LeftRecords) -> None:
    """A file as version 1 wrote it, decided further in version 2: the old line stays as it is, byte by byte."""
    path = left.path("rehearsed undecided")
    before = (Path(__file__).parent / "data" / "marks-version-1.jsonl").read_bytes()
    assert b'"version":1' in before and b"decision" not in before
    record = read_record(Path(__file__).parent / "data" / "marked-version-1.jsonl")
    here = path.with_name("old.jsonl")
    here.write_bytes(record.path.read_bytes())
    marks_path(here, "27").write_bytes(before)
    old = read_record(here)
    saved = save_marks(old, marks_from({"marker": "27", "rating": 2}), 1, clock(), own_key(left.home / "keys"))
    assert saved.revision == 2
    lines = marks_path(here, "27").read_bytes().splitlines(keepends=True)
    assert lines[0] == before and b'"version":2' in lines[1]


def test_the_list_and_the_class_tell_the_same(left: LeftRecords) -> None:
    with Base(left.home / "records", left.home / "cache") as base:
        assert take_in(base).faults == ()
        told = {line.file: (line.outcome, line.way) for line in listing.lines(base, Filters())}
        assert told == {
            left.names[kind]: (OUTCOMES[kind], "guided" if kind.startswith("guided") else "from memory")
            for kind in KINDS
        }
        for line in listing.lines(base, Filters()):
            source = load_source(left.home / "records" / line.file)
            assert (line.took_ms, line.performer) == (source.told.took_ms, source.told.performer), line.file
        assert figures.whole(base, Filters(way="from memory")).left_open == 1
        mine = Filters(procedure=PROCEDURE, way="from memory")
        steps = {each.step: each for each in figures.steps(base, mine)}
        found = steps[IN_DOUBT]
        assert (found.doubtful, found.done, found.missed, found.due) == (1, 2, 0, 3)
        path = left.path("rehearsed undecided")
        save_marks(read_record(path), decides("27", "not said"), 0, clock(), own_key(left.home / "keys"))
        take_in(base)
        (line,) = listing.lines(base, Filters(missed=IN_DOUBT, performer="12"))
        assert (line.file, line.outcome) == (path.name, "not passed")
        assert {each.step: each.missed for each in figures.steps(base, mine)}[IN_DOUBT] == 1


def test_a_class_is_the_largest_group_and_never_mixed(left: LeftRecords) -> None:
    """Guided sessions of the same procedure lie beside the rehearsals; the alphabet would begin with them."""
    with Base(left.home / "records", left.home / "cache") as base:
        take_in(base)
        chosen = largest_group(base, Filters())
        assert (chosen.procedure, chosen.way) == (PROCEDURE, "from memory")
        assert figures.whole(base, chosen).sessions == 3
        guided = largest_group(base, Filters(procedure=PROCEDURE, way="guided"))
        whole = figures.whole(base, guided)
        assert (whole.sessions, whole.left_open, whole.outcomes) == (1, 1, (("abandoned", 1),))
        (ready,) = figures.steps(base, guided)
        assert ready.step == "ready", "a step that was never up makes no row"
