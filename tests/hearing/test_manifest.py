"""Lines of a manifest, one by one: what is taken and what is refused, and in which words."""

import json
from pathlib import Path

import pytest

from companion.errors import HearingError
from companion.hearing.manifest import Clip, Fault, Reply, read_manifest


def lines(tmp_path: Path, *entries: object) -> list[Clip | Reply | Fault]:
    path = tmp_path / "list.jsonl"
    text = "\n".join(entry if isinstance(entry, str) else json.dumps(entry) for entry in entries)
    path.write_text(text, encoding="utf-8")
    return list(read_manifest(path, "en-US"))


def test_phrases_are_put_into_words_and_kept_as_written(tmp_path: Path) -> None:
    entry = {"audio": "a.wav", "phrases": ["Gloves on!", "14 units", "It's  dry", "stop"], "truth": "gloves ON"}
    (clip,) = lines(tmp_path, entry)
    assert isinstance(clip, Clip)
    assert clip.said == {
        "gloves on": "Gloves on!",
        "fourteen units": "14 units",
        "it's dry": "It's  dry",
        "stop": "stop",
    }
    assert clip.truth == "gloves on"


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("3D audio", "three d audio"),
        ("the 21st of May", "the twenty first of may"),
        ("0.5 mL", "zero point five milliliters"),
        ("Don't stop!", "don't stop"),
        ("check-in", "check in"),
    ],
)
def test_what_is_said_for_what_is_written(tmp_path: Path, written: str, said: str) -> None:
    (clip,) = lines(tmp_path, {"audio": "a.wav", "phrases": [written], "truth": written})
    assert isinstance(clip, Clip)
    assert list(clip.said) == [said]


def test_relative_paths_count_from_the_manifest(tmp_path: Path) -> None:
    near, far = lines(
        tmp_path,
        {"audio": "sub/a.wav", "phrases": ["a"], "truth": None},
        {"audio": "/far/b.wav", "phrases": ["a"], "truth": None},
    )
    assert isinstance(near, Clip)
    assert isinstance(far, Clip)
    assert near.path == tmp_path / "sub" / "a.wav"
    assert far.path == Path("/far/b.wav")


def test_blank_lines_a_byte_order_mark_and_a_missing_truth(tmp_path: Path) -> None:
    path = tmp_path / "list.jsonl"
    path.write_text('\ufeff{"audio": "a.wav", "phrases": ["a"]}\n\n   \n', encoding="utf-8")
    (clip,) = read_manifest(path, "en-US")
    assert isinstance(clip, Clip)
    assert clip.truth is None


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("not json", "list.jsonl:1: is not JSON"),
        ("[1]", "`audio` must be the path"),
        ({"phrases": ["a"]}, "`audio` must be the path"),
        ({"audio": 3, "phrases": ["a"]}, "`audio` must be the path"),
        ({"audio": "a.wav"}, "`phrases` must be a list"),
        ({"audio": "a.wav", "phrases": []}, "`phrases` must be a list"),
        ({"audio": "a.wav", "phrases": "stop"}, "`phrases` must be a list"),
        ({"audio": "a.wav", "phrases": ["stop", None]}, "`phrases` must be a list"),
        ({"audio": "a.wav", "phrases": ["?!"]}, "`?!` holds no words"),
        ({"audio": "a.wav", "phrases": ["stop"], "truth": "go"}, "`go` is not among the phrases"),
        ({"audio": "a.wav", "phrases": ["stop"], "truth": 1}, "`truth` must be a phrase or null"),
        ({"audio": "a.wav", "phrases": ["stop"], "truht": None}, "unknown key `truht`"),
    ],
)
def test_a_bad_line_is_named_and_says_what_is_accepted(tmp_path: Path, line: object, says: str) -> None:
    fault, good = lines(tmp_path, line, {"audio": "b.wav", "phrases": ["a"], "truth": None})
    assert isinstance(fault, Fault)
    assert says in fault.message
    assert "list.jsonl:1:" in fault.message
    assert "accepted:" in fault.message
    assert "\n" not in fault.message
    assert isinstance(good, Clip)


def test_a_manifest_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(HearingError, match=r"away\.jsonl: there is no such manifest"):
        list(read_manifest(tmp_path / "away.jsonl", "en-US"))


def test_a_manifest_that_is_not_text(tmp_path: Path) -> None:
    path = tmp_path / "sound.jsonl"
    path.write_bytes(b"\xff\xfe\x00RIFF")
    with pytest.raises(HearingError, match="cannot be read as UTF-8"):
        list(read_manifest(path, "en-US"))
