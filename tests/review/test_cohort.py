"""A folder counted in DuckDB against the same folder folded record by record, and quantiles against scipy."""

from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from companion import places
from companion.errors import UsageError
from companion.record.keys import key_id
from companion.record.reader import read_record
from companion.record.trusted import trust
from companion.review.cohort import figures, listing, markers
from companion.review.cohort.base import Base, base_path, forget
from companion.review.cohort.filters import Filters, choices
from companion.review.cohort.intake import take_in
from companion.review.marks import marks_from
from companion.review.marks_file import marks_path, save_marks
from companion.review.timeline import timeline
from companion.session.events import Missed
from tests.conversation.rig import WHOLE
from tests.exports.making import drill
from tests.left_records import rehearse, talk
from tests.record.hostile import signed, values_of
from tests.record.making import UnsyncedFiles, clock, key
from tests.review.cohorts import base_of, guided, mark
from tests.review.parts import part

EVERY = Filters()


@pytest.fixture(autouse=True)
def home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's own folder, with the key that signs the tests' records among the known ones."""
    folder = tmp_path_factory.mktemp("home")
    (folder / "keys").mkdir()
    (folder / "keys" / "tests.pub").write_text(key().public)
    monkeypatch.setenv("COMPANION_HOME", str(folder))
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("class")
    guided(made, 12)
    return made


@pytest.fixture
def base(folder: Path, tmp_path: Path) -> Any:
    with base_of(folder, tmp_path / "cache") as found:
        yield found


def test_counts_are_those_of_the_folded_records(base: Base, folder: Path) -> None:
    told = [timeline(read_record(path)) for path in sorted(folder.iterdir())]
    done = Counter(each.step for one in told for each in one.confirmed if "left out" not in each.note)
    out = Counter(each.step for one in told for each in one.confirmed if "left out" in each.note)
    unclear = Counter(
        moment.step for one in told for moment in one.moments if isinstance(moment.event, Missed)
        and moment.event.why == "unclear"
    )  # fmt: skip
    found = figures.steps(base, EVERY)
    assert [each.step for each in found if not each.branch] == [step.id for step in told[0].procedure.steps]
    assert {each.step: each.done for each in found} == {each.step: done[each.step] for each in found}
    assert {each.step: each.missed for each in found} == {each.step: out[each.step] for each in found}
    assert {each.step: each.unclear for each in found} == {each.step: unclear[each.step] for each in found}
    assert sum(out.values()) and sum(unclear.values()), "the class would show nothing"


def test_quantiles_are_those_of_scipy(base: Base, folder: Path) -> None:
    mstats: Any = part("scipy.stats.mstats", "scipy")
    took: dict[str, list[int]] = {}
    for path in folder.iterdir():
        for done in timeline(read_record(path)).confirmed:
            if "left out" not in done.note:
                took.setdefault(done.step, []).append(done.took_ms)
    for each in figures.steps(base, EVERY):
        wanted = mstats.mquantiles(took[each.step], [0.25, 0.5, 0.75, 0.9], alphap=1, betap=1)  # type 7
        got = (each.low_ms, each.median_ms, each.high_ms, each.most_ms)
        assert got == pytest.approx(tuple(wanted), abs=1e-9)


def test_the_most_misheard_phrases(base: Base, folder: Path) -> None:
    near: Counter[str] = Counter()
    for path in folder.iterdir():
        events = [moment.event for moment in timeline(read_record(path)).moments]
        near.update(event.nearest for event in events if isinstance(event, Missed) and event.nearest)
    found = figures.phrases(base, EVERY, 1000)
    assert near
    assert {each.phrase: each.unclear for each in found} == dict(near)
    assert [each.unclear for each in found] == sorted(near.values(), reverse=True)


def test_a_list_with_filters(base: Base) -> None:
    every = listing.lines(base, EVERY)
    assert len(every) == listing.count(base, EVERY) == 12
    assert [line.begun for line in every] == sorted((line.begun for line in every), reverse=True)
    one = every[3]
    mine = listing.lines(base, Filters(performer=one.performer))
    assert one in mine and {line.performer for line in mine} == {one.performer}
    day = one.begun[:10]
    assert all(line.begun[:10] == day for line in listing.lines(base, Filters(since=day, until=day)))
    assert listing.lines(base, Filters(marked="yes")) == []
    assert listing.count(base, Filters(outcome="abandoned")) == 0
    assert listing.lines(base, EVERY, 2, 3) == every[2:5]
    assert choices(base).procedures == (("simple-dressing", "Simple wound dressing"),)


@pytest.mark.parametrize(
    ("given", "says"),
    [({"since": "yesterday"}, "a day such as"), ({"until": "2030-13-01"}, "a day"), ({"marked": "'"}, "yes or no")],
)
def test_a_filter_that_is_none(given: dict[str, str], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        Filters.of(given)


def test_words_in_a_filter_are_only_words(base: Base) -> None:
    for text in ("' OR true --", "x'; DROP TABLE sessions; --", "%"):
        assert listing.lines(base, Filters.of({"performer": text})) == []
    assert listing.count(base, EVERY) == 12


def test_rehearsals_from_memory(tmp_path: Path) -> None:
    """What an examiner noted is what is counted: the step done too soon is out of order, the one it needed late."""
    home = tmp_path / "home"
    whole = talk()
    early = [*whole[:6], whole[7], whole[6], *whole[8:]]  # takes the product before choosing it
    paths = [rehearse(home, talk(thumbs=None)), rehearse(home, ["hint", *early])]
    trust(places.keys(), read_record(paths[0]).opening["public_key"])
    judgements = [timeline(read_record(path)).judgement for path in paths]
    findings = [finding for each in judgements if each is not None for finding in each.findings]
    assert [each.step for each in findings if each.kind == "omitted"] == ["thumbs"]
    out_of_order = [each for each in findings if each.kind == "out of order"]
    assert [(each.step, each.needed) for each in out_of_order] == [("product", "method")]
    with base_of(home / "records", tmp_path / "cache") as base:
        found = {each.step: each for each in figures.steps(base, EVERY)}
        assert {each.due for each in found.values()} == {2}
        assert figures.whole(base, EVERY).outcomes == (("not passed", 2),)
        assert {kind: n for kind, n, _ in figures.kinds(base, EVERY)} == Counter(each.kind for each in findings)
        assert {line.way for line in listing.lines(base, EVERY)} == {"from memory"}
        assert (found["thumbs"].missed, found["thumbs"].done) == (1, 1)
        assert (found["product"].early, found["method"].late, found["method"].early) == (1, 1, 0)
        assert [line.file for line in listing.lines(base, Filters(missed="thumbs"))] == [paths[0].name]


def test_only_what_changed_is_read_again(tmp_path: Path) -> None:
    folder = tmp_path / "class"
    paths = guided(folder, 3)
    with Base(folder, tmp_path / "cache") as base:
        assert take_in(base).read == 3
        assert take_in(base).read == 0
        paths[0].write_bytes(b"".join(paths[0].read_bytes().splitlines(keepends=True)[:20]))
        paths[1].unlink()
        taken = take_in(base)
        assert (taken.read, taken.gone) == (1, 1)
        assert {line.file: line.closed for line in listing.lines(base, EVERY)} == {
            paths[0].name: False,
            paths[2].name: True,
        }
        assert {name for (name,) in base.rows("SELECT DISTINCT file FROM done")} == {paths[0].name, paths[2].name}
    with Base(folder, tmp_path / "cache") as base:
        assert take_in(base).read == 0, "it is kept"


def test_records_of_before_entries_told_what_they_decided(tmp_path: Path) -> None:
    """They hold the events alone: what those changed is folded, and counts as in any other record."""
    path = drill(tmp_path / "drill")
    values = values_of(path)
    for value in values:
        if value["kind"] == "event":
            value["body"] = {"event": value["body"]["event"], "says": value["body"]["says"]}
    path.write_bytes(signed(values))
    told = timeline(read_record(path))
    with base_of(path.parent, tmp_path / "cache") as base:
        took = base.rows("SELECT step, at_ms, took_ms FROM done ORDER BY at_ms")
        assert took == [(done.step, done.at_ms, done.took_ms) for done in told.confirmed] != []
        assert {step for (step,) in base.rows("SELECT step FROM due")} == set(told.due)
        assert base.rows("SELECT outcome FROM sessions") == [("finished",)]


def test_what_was_gone_back_to_counts_once(tmp_path: Path) -> None:
    path = drill(tmp_path / "drill", (*WHOLE[:6], "go back", "", "both hands dry", *WHOLE[6:]))
    trust(places.keys(), read_record(path).opening["public_key"])
    told = timeline(read_record(path))
    with base_of(path.parent, tmp_path / "cache") as base:
        found = {each.step: each for each in figures.steps(base, EVERY)}
        assert {step for step in found if found[step].again} != set()
        assert {step: each.done for step, each in found.items()} == {
            step: int(any(done.step == step for done in told.confirmed)) for step in found
        }
        took = base.rows("SELECT step, at_ms, took_ms FROM done ORDER BY at_ms")
        assert took == [(done.step, done.at_ms, done.took_ms) for done in told.confirmed]


def test_what_is_no_record_is_named_and_the_rest_counted(tmp_path: Path) -> None:
    folder = tmp_path / "class"
    (good,) = guided(folder, 1)
    (folder / "noise.jsonl").write_bytes(bytes(range(256)) * 40)
    (folder / "empty.jsonl").write_bytes(b"")
    (folder / "other.jsonl").write_text('{"a": 1}\n[]\n"x"\n')
    (folder / "odd[1]*?.jsonl").write_bytes(good.read_bytes())
    (folder / "wrong types.jsonl").write_text(
        '{"n":0,"kind":"opened","body":{"event":[1],"done":"x","step":{}},"at_ms":"y"}\n'
    )
    long = (
        b'{"n":0,"kind":"opened","session":"s","utc":"","at_ms":0,"body":{"procedure_id":"'
        + b"x" * 10_000_000
        + b'"}}\n'
    )
    (folder / "long.jsonl").write_bytes(long)
    (folder / "longer.jsonl").write_bytes(long * 2 + b"y" * 20_000_000)
    with Base(folder, tmp_path / "cache") as base:
        taken = take_in(base)
        assert listing.count(base, Filters(procedure="simple-dressing")) == 2, "the odd name is only a name"
        assert figures.steps(base, Filters(procedure="simple-dressing"))
        named = "\n".join(taken.faults)
        for name in ("noise", "empty", "other", "wrong types", "long", "longer"):
            assert f"{name}.jsonl: " in named
        assert len(str(base.rows("SELECT * FROM sessions"))) < 10_000, "no text is kept that long"


def test_marks_are_counted_once_verified(tmp_path: Path) -> None:
    folder = tmp_path / "class"
    paths = guided(folder, 6)
    for number, path in enumerate(paths):
        for marker, mood in (("27", 0), ("31", number % 2)):
            items = [
                {"step": "identify", "mark": "done" if number % 3 else "not done"},
                {"step": "agreement", "mark": "in part" if mood else "done"},
            ]
            mark(path, marks_from({"marker": marker, "items": items, "rating": 1 + number % 4}))
    with base_of(folder, tmp_path / "cache") as base:
        found = markers.together(base, "27", "31", EVERY)
        assert (found.sessions, found.items and found.items.items) == (6, 12)
        assert found.items is not None and found.items.observed == pytest.approx(9 / 12)
        assert found.ratings is not None and found.ratings.kappa == 1.0
        assert {step: (n, same) for step, _, n, same in found.steps} == {"agreement": (6, 3), "identify": (6, 6)}
        assert len(markers.marked(base, EVERY)) == 12
        assert markers.cut(markers.marked(base, EVERY)).n == 12
        with pytest.raises(UsageError, match="two markers are needed"):
            markers.together(base, "27", "27", EVERY)
        side = marks_path(paths[0], "27")
        side.write_bytes(side.read_bytes().replace(b'"rating":1', b'"rating":4'))
        take_in(base)
        assert len(markers.marked(base, EVERY)) == 11, "what was changed is not believed"
        assert "signature is wrong" in base.rows("SELECT fault FROM marks WHERE fault <> ''")[0][0]


def test_two_reviews_of_one_folder(tmp_path: Path) -> None:
    with Base(tmp_path, tmp_path / "cache"):
        pass  # within one process DuckDB shares the file; another process is tried in the command's test
    assert base_path(tmp_path, tmp_path / "cache").stat().st_mode & 0o777 == 0o600


def test_a_damaged_cache_is_made_anew(tmp_path: Path) -> None:
    folder = tmp_path / "class"
    guided(folder, 1)
    cache = tmp_path / "cache"
    with base_of(folder, cache):
        pass
    base_path(folder, cache).write_bytes(b"not a database" * 1000)
    with base_of(folder, cache) as base:
        assert listing.count(base, EVERY) == 1


def test_what_was_read_can_be_forgotten(tmp_path: Path) -> None:
    folder = tmp_path / "class"
    guided(folder, 1)
    with base_of(folder, tmp_path / "cache"):
        pass
    assert forget(folder, tmp_path / "cache") and not forget(folder, tmp_path / "cache")
    assert list((tmp_path / "cache").iterdir()) == []


def test_what_a_stranger_signed_counts_nowhere_until_it_is_trusted(tmp_path: Path) -> None:
    """Anybody can sign with a key of their own: neither such a record nor such marks are counted; both are named."""
    ours, stranger = drill(tmp_path / "drill"), key(9)
    theirs = ours.with_name("theirs.jsonl")
    theirs.write_bytes(signed(values_of(ours), seed=9))
    ours.write_bytes(signed(values_of(ours)))
    for path, by in ((ours, stranger), (theirs, key())):
        given = marks_from({"marker": "27", "rating": 3})
        save_marks(read_record(path), given, 0, clock(), by, UnsyncedFiles())
    with base_of(ours.parent, tmp_path / "cache") as base:
        taken = take_in(base)
        found = listing.lines(base, EVERY)
        assert [(line.file, line.markers) for line in found] == [(ours.name, "")]
        assert [fault for fault in taken.faults if "theirs.jsonl: made with a key that is not known" in fault]
        assert base.rows("SELECT fault FROM marks") == [(f"signed with the unknown key {key_id(stranger.public)}",)]
        assert f"{ours.name}.marks-27: signed with the unknown key" in "".join(taken.faults)
        trust(places.keys(), stranger.public)
        assert take_in(base).faults == ()
        found = listing.lines(base, EVERY)
        assert {(line.file, line.markers) for line in found} == {(ours.name, "27"), (theirs.name, "27")}
