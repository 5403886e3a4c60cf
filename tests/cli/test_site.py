"""`companion site` as people type it."""

from pathlib import Path
from xml.etree import ElementTree

import pytest

from companion import places
from companion.errors import CompanionError, EventRefused, UsageError
from companion.sites.kept.tags import check_digit
from tests.commands import inside

TODAY = "left-thigh/upper-2-2"


def run(*arguments: str) -> tuple[int, str]:
    code, said = inside("site", *arguments)
    return code, " ".join(said.split())


@pytest.fixture
def tag(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    code, said = run("new")
    assert code == 0
    assert "In words:" in said
    return said.split()[0]


def test_the_way_through_one_injection(tag: str) -> None:
    code, said = run("next", tag)
    assert code == 0
    assert said.startswith("Right abdomen, upper quadrant: 5 cm outward of the navel and 1 cm above it.")
    command = said.split("To note it: companion site ")[1].split()
    code, said = run(*command)
    assert code == 0
    assert said.startswith("Noted: injection at right-abdomen/upper-5-1 on ")
    assert "one finger's width outward of the last" in run("next", tag)[1]


def test_a_zone_and_the_settings_of_the_ward(tag: str) -> None:
    code, said = run("next", tag, "--zone", "left-thigh", "--site-distance", "1.5")
    assert code == 0
    assert "left-thigh/upper-1.5-1.5" in said
    assert "6 cm outward of the navel" not in run("next", tag, "--navel-distance", "1")[1]


def test_cautions_and_the_note_all_the_same(tag: str) -> None:
    run("avoid", tag, "left-thigh", "--reason", "scar")
    code, said = run("note", tag, TODAY)
    assert code == 0
    assert "Noted: injection at" in said
    assert "Caution: left-thigh is to be avoided since" in said
    assert run("show", tag)[1].count(TODAY) == 1


def test_what_was_noted_is_shown_undone_and_fit_again(tag: str) -> None:
    run("note", tag, TODAY)
    run("avoid", tag, "right-upper-arm/upper", "--reason", "broken-skin")
    said = run("show", tag)[1]
    assert TODAY in said
    assert "right-upper-arm/upper since" in said
    assert "broken skin" in said
    assert "Noted: right-upper-arm is fit again." in run("fit", tag, "right-upper-arm")[1]
    assert "Taken back: right-upper-arm is fit again." in run("undo", tag)[1]
    for _ in range(2):
        run("undo", tag)
    said = run("show", tag)[1]
    assert "no injection noted so far" in said
    assert str(places.home() / "sites" / f"{tag}.jsonl") in said


def test_a_map_is_drawn_beside(tag: str, tmp_path: Path) -> None:
    for number, command in enumerate((("next", tag), ("show", tag), ("next", tag, "--zone", "right-buttock"))):
        path = tmp_path / f"{number}.svg"
        assert run(*command, "--svg", str(path))[0] == 0
        assert ElementTree.parse(path).getroot().tag.endswith("}svg")
    with pytest.raises(UsageError, match="the body map cannot be written here"):
        run("show", tag, "--svg", str(tmp_path / "none" / "map.svg"))


def test_where_nothing_is_left_the_map_is_drawn_and_the_refusal_stands(tag: str, tmp_path: Path) -> None:
    run("avoid", tag, "left-thigh", "--reason", "wish")
    with pytest.raises(UsageError, match="no spot is left on the left thigh"):
        run("next", tag, "--zone", "left-thigh", "--svg", str(tmp_path / "map.svg"))
    assert "No spot is left on the left thigh" in (tmp_path / "map.svg").read_text(encoding="utf-8")


def test_damage_is_said_with_every_answer(tag: str) -> None:
    run("note", tag, TODAY)
    path = places.home() / "sites" / f"{tag}.jsonl"
    path.write_bytes(path.read_bytes().replace(b"upper-2-2", b"upper-2-3"))
    for command in (("next", tag), ("show", tag), ("note", tag, "right-thigh"), ("undo", tag)):
        said = run(*command)[1]
        assert "line 2 is damaged" in said
        assert "look at the paper too" in said


@pytest.mark.parametrize(
    ("command", "fault", "says"),
    [
        (("next", "TAG", "--zone", "knee"), UsageError, "--zone `knee`: accepted: left-abdomen, right-abdomen"),
        (("note", "TAG", "knee/upper-1-1"), UsageError, "is no place to inject"),
        (("avoid", "TAG", TODAY, "--reason", "Mrs Smith"), UsageError, "accepted: lump, bruise"),
        (("note", "TAG", TODAY, "--day", "yesterday"), UsageError, "accepted: a day such as 2030-01-31"),
        (("note", "TAG", TODAY, "--day", "9999-01-01"), EventRefused, "is still to come"),
        (("fit", "TAG", TODAY), EventRefused, "nothing in it is being avoided"),
        (("undo", "TAG"), EventRefused, "nothing has been noted here"),
        (("next", "TAG", "--site-distance", "0.5"), UsageError, "site-distance is `0.5`; accepted: 1 to 3 cm"),
        (("next", "1"), UsageError, "accepted are the five digits"),
    ],
)
def test_what_cannot_be_is_one_sentence(
    tag: str, command: tuple[str, ...], fault: type[CompanionError], says: str
) -> None:
    with pytest.raises(fault) as refused:
        run(*(tag if word == "TAG" else word for word in command))
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_an_unknown_tag_is_said(tag: str) -> None:
    digits = f"{(int(tag[:4]) + 1) % 10_000:04}"
    with pytest.raises(CompanionError, match="nothing is kept under it"):
        run("next", digits + check_digit(digits))
