"""`companion hear` with questions: replies in people's own words, typed and spoken, from the outside."""

import json
from pathlib import Path
from typing import Any

import pytest
import soundfile

from companion.meaning.reader.opened import open_reader_of_meanings
from companion.ports.sound import SAMPLE_RATE
from tests.commands import companion
from tests.hearing.scorer_parts import scorer_folder
from tests.hearing.synthetic_speech import flite
from tests.hearing.test_hear import hear, write
from tests.realparts import need

NAME: dict[str, Any] = {
    "prompt": "Ask the patient for their name. Is it the one on the band?",
    "critical": True,
    "meanings": {"as it should be": {"phrases": ["name matches"]}, "Patient differs": {"phrases": ["different name"]}},
}
DOSE: dict[str, Any] = {
    "prompt": "How many units are ordered?",
    "value": {"type": "number", "unit": "units", "least": "1", "most": "100"},
}
BOTH: dict[str, Any] = {
    "prompt": "Ask the patient for name and date of birth.",
    "items": [
        {"about": "name", "agrees": ["name matches"], "differs": ["different name"]},
        {"about": "date of birth", "agrees": ["birthday matches"], "differs": ["birthday differs"]},
    ],
}


def test_typed_replies_and_the_count(tmp_path: Path) -> None:
    reader, missing = open_reader_of_meanings("en-US")
    need(reader is not None, missing)
    manifest = write(
        tmp_path / "m.jsonl",
        {**NAME, "said": "yeah that's her", "truth": "as it should be"},
        {**NAME, "said": "name matches", "truth": "as it should be"},
        {**NAME, "said": "yes", "truth": "as it should be"},
        {**NAME, "said": "can you hold this", "truth": None},
        {**DOSE, "said": "it's eighteen units", "truth": "18 units"},
        {**DOSE, "said": "eighteen no sixteen", "truth": None},
        {**BOTH, "said": "name and birthday both match", "truth": ["agrees", "agrees"]},
    )
    done = hear(manifest, "--json")
    assert done.returncode == 0, done.stderr
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert [(answer["understood"], answer["how"]) for answer in answers] == [
        ("as it should be", "own words"),
        ("as it should be", "phrase"),
        (None, "asked back"),
        (None, None),
        ("18 units", "own words"),
        (None, "asked back"),
        (["agrees", "agrees"], ["own words", "own words"]),
    ]
    assert answers[5]["nearest"] == "16 units"
    assert list(answers[0]) == ["understood", "how", "nearest", "margin", "decide_s"]
    assert "understood at once          5 of 6" in done.stderr
    assert "no answer, and taken        0 of 2" in done.stderr


def test_spoken_replies(tmp_path: Path) -> None:
    reader, missing = open_reader_of_meanings("en-US")
    need(reader is not None, missing)
    scorer_folder()
    for name, words in (("phrase", "name matches"), ("own", "yes that is the same name")):
        soundfile.write(tmp_path / f"{name}.wav", flite(words), SAMPLE_RATE)
    manifest = write(
        tmp_path / "m.jsonl",
        {**NAME, "audio": "phrase.wav", "truth": "as it should be"},
        {**NAME, "audio": "own.wav", "truth": "as it should be"},
    )
    done = hear(manifest, "--json")
    assert done.returncode == 0, done.stderr
    assert [json.loads(line)["how"] for line in done.stdout.splitlines()] == ["phrase", "own words"]


def test_without_the_reader_phrases_count_and_it_says_what_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COMPANION_MODELS", str(tmp_path / "none"))
    manifest = write(
        tmp_path / "m.jsonl",
        {**NAME, "said": "name matches", "truth": "as it should be"},
        {**NAME, "said": "yeah that's her", "truth": "as it should be"},
    )
    done = companion("hear", str(manifest), "--json")
    assert done.returncode == 0
    assert [json.loads(line)["how"] for line in done.stdout.splitlines()] == ["phrase", None]
    assert "companion models fetch meanings" in done.stderr


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"truth": "nothing here"}, "the truth `nothing here` is none of the meanings"),
        ({"said": None}, "either `said` or `audio` is needed"),
        ({"meanings": {}}, "one of `meanings`, `value` and `items` is needed"),
        ({"prompt": ""}, "`prompt`"),
        ({"colour": "red"}, "`colour`"),
        ({"value": {"type": "number", "unit": "units", "least": "9", "most": "1"}, "meanings": {}}, "runs backwards"),
    ],
)
def test_a_line_that_cannot_be_used_is_one_sentence(tmp_path: Path, changes: dict[str, Any], says: str) -> None:
    manifest = write(tmp_path / "m.jsonl", {**NAME, "said": "yes", "truth": None, **changes})
    done = hear(manifest, "--json", "--engine", "pocketsphinx")
    assert done.returncode == 1
    (answer,) = (json.loads(line) for line in done.stdout.splitlines())
    assert says in answer["error"] and f"{manifest}:1" in answer["error"] and "accepted: " in answer["error"]
    assert "Traceback" not in done.stderr
