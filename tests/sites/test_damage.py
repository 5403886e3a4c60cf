"""A damaged file: every change is noticed, what is whole is still read, nothing is repaired."""

import re
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.sites import read_place
from companion.sites.kept.lines import SITES_VERSION, read_lines
from companion.sites.kept.tags import check_digit
from tests.sites.making import books, filled, places_of

DATA = Path(__file__).parents[1] / "data" / "sites"
PLACES = ["left-abdomen/upper-6-3", "left-thigh/upper-2-2", "right-buttock/lower-4-2"]


def test_every_byte_flipped_is_noticed(tmp_path: Path) -> None:
    whole = filled(tmp_path, *PLACES).path.read_bytes()
    first = whole.index(b"\n") + 1
    for at in range(len(whole)):
        changed = whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :]
        try:
            found = read_lines(changed)
        except RecordError:
            assert at < first  # without its first line nothing can be believed
            continue
        assert found.damage or not found.ended
        kept = [use.place for use in found.history.uses()]
        assert [place for place in PLACES if place in kept] == kept  # nothing is invented


def test_every_line_cut_or_doubled_is_noticed_except_the_last_ones(tmp_path: Path) -> None:
    lines = filled(tmp_path, *PLACES).path.read_bytes().splitlines(keepends=True)
    for at in (1, 2):
        cut = read_lines(b"".join(lines[:at] + lines[at + 1 :]))
        assert "lines are missing or moved" in cut.damage[0]
    for at in (1, 2, 3):
        doubled = read_lines(b"".join([*lines[: at + 1], lines[at], *lines[at + 1 :]]))
        assert "lines are missing or moved" in doubled.damage[0]
        assert [use.place for use in doubled.history.uses()] == PLACES
    swapped = read_lines(b"".join([lines[0], lines[2], lines[1], lines[3]]))
    assert swapped.damage
    assert sorted(use.place for use in swapped.history.uses()) == sorted(PLACES)


def test_the_line_is_named_with_what_is_wrong(tmp_path: Path) -> None:
    book = filled(tmp_path, *PLACES)
    book.path.write_bytes(book.path.read_bytes().replace(b"upper-2-2", b"upper-2-3"))
    again = books(tmp_path).read(book.tag)
    assert again.damage == ("line 3 is damaged (its check does not fit what it says)",)
    assert places_of(again) == [PLACES[0], PLACES[2]]


def test_a_line_cut_off_while_being_written_is_passed_over_for_good(tmp_path: Path) -> None:
    book = filled(tmp_path, *PLACES)
    torn = book.path.read_bytes()[:-20]
    book.path.write_bytes(torn)
    again = books(tmp_path).read(book.tag)
    assert again.damage == ("line 4 was cut off while being written and never confirmed",)
    assert book.path.read_bytes() == torn  # reading repairs nothing
    after = books(tmp_path).use(book.tag, read_place("right-thigh"))
    assert places_of(after) == [*PLACES[:2], "right-thigh"]
    assert book.path.read_bytes().startswith(torn + b"\n")  # and nor does writing
    later = books(tmp_path).read(book.tag)
    assert places_of(later) == places_of(after)
    assert len(later.damage) == 1
    assert "line 4" in later.damage[0]


def test_a_whole_last_line_without_its_end_counts(tmp_path: Path) -> None:
    book = filled(tmp_path, *PLACES)
    book.path.write_bytes(book.path.read_bytes()[:-1])
    assert places_of(books(tmp_path).read(book.tag)) == PLACES
    books(tmp_path).use(book.tag, read_place("right-thigh"))
    again = books(tmp_path).read(book.tag)
    assert (places_of(again), again.damage) == ([*PLACES, "right-thigh"], ())


def test_a_note_is_undone_across_damage(tmp_path: Path) -> None:
    book = filled(tmp_path, *PLACES)
    book.path.write_bytes(book.path.read_bytes().replace(b"right-buttock", b"right-buttoch"))
    books(tmp_path).undo(book.tag)
    assert places_of(books(tmp_path).read(book.tag)) == PLACES[:1]


@pytest.mark.parametrize("data", [b"", b"\n", b"{}\n", b"\x00" * 200, b'{"kind":"opened","n":0}\n', b"not a history\n"])
def test_a_file_without_its_first_line_is_refused_in_a_sentence(tmp_path: Path, data: bytes) -> None:
    tag = "0000" + check_digit("0000")
    (tmp_path / f"{tag}.jsonl").write_bytes(data)
    with pytest.raises(RecordError, match=rf"{tag}.jsonl: line 1 is") as refused:
        books(tmp_path).read(tag)
    assert "\n" not in str(refused.value)


def test_a_file_of_a_later_version_is_refused(tmp_path: Path) -> None:
    data = filled(tmp_path, *PLACES).path.read_bytes()
    with pytest.raises(RecordError, match="written in version 1 by a newer program; this one reads up to version 0"):
        read_lines(data, to=0)


def test_a_file_of_the_first_version_is_still_read() -> None:
    # Kept as version 1 wrote it; it must stay readable whatever comes later
    found = read_lines((DATA / "version-1.jsonl").read_bytes())
    assert found.damage == ()
    assert [(use.day.isoformat(), use.place) for use in found.history.uses()] == [
        ("2030-01-01", "right-abdomen/upper-5-1"),
        ("2030-01-02", "left-upper-arm"),
        ("2030-01-03", "left-thigh/upper-1.5-3"),
    ]
    assert [(each.place, each.reason) for each in found.history.avoided()] == [("left-thigh/lower", "lump or bruise")]


def test_an_older_file_is_lifted_line_by_line() -> None:
    data = (DATA / "version-1.jsonl").read_bytes()

    def to_two(body: dict[str, object]) -> dict[str, object]:
        moved = re.sub("^left-thigh", "right-thigh", str(body["place"])) if "place" in body else None
        return body if moved is None else {**body, "place": moved}

    lifted = read_lines(data, {SITES_VERSION: to_two}, SITES_VERSION + 1)
    assert [use.place for use in lifted.history.uses()][-1] == "right-thigh/upper-1.5-3"
