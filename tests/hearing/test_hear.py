"""`companion hear` from the outside: human recordings, bad sound, standard output and the exit code."""

import json
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tests.commands import companion
from tests.hearing.scorer_parts import CARDS, SENTENCES, need_human_sound, scorer_folder

PHRASES = ["Ten of clubs", "seven of clubs", "queen of hearts", "repeat", "stop"]


def hear(manifest: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    return companion("hear", str(manifest), *arguments)


def write(path: Path, *entries: dict[str, Any]) -> Path:
    path.write_text("".join(json.dumps(entry) + "\n" for entry in entries), encoding="utf-8")
    return path


def test_one_json_line_a_recording_and_a_table_apart(tmp_path: Path) -> None:
    need_human_sound()
    sentence = SENTENCES / "sense_and_sensibility_01_austen_64kb-0880.wav"
    manifest = write(
        tmp_path / "m.jsonl",
        {"audio": str(CARDS / "001.wav"), "phrases": PHRASES, "truth": "ten of clubs"},
        {"audio": str(CARDS / "003.wav"), "phrases": PHRASES, "truth": "seven of clubs"},
        {"audio": str(sentence), "phrases": PHRASES, "truth": None},
    )
    done = hear(manifest, "--engine", "pocketsphinx", "--json")
    assert done.returncode == 0, done.stderr
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert [answer["heard"] for answer in answers] == ["Ten of clubs", "seven of clubs", None]
    for answer in answers:
        assert list(answer) == ["audio", "heard", "margin", "engine", "decide_s"]
        assert answer["engine"] == "pocketsphinx"
        assert answer["decide_s"] >= 0
    assert "missed              0 of 2 (0.0 %, 0.0 to 65.8)" in done.stderr
    assert "intruders accepted  0 of 1" in done.stderr
    for label in ("wrong phrase", "decision time", "real-time factor", "peak memory"):
        assert label in done.stderr


def test_the_scorer_is_the_default_once_fetched(tmp_path: Path) -> None:
    need_human_sound()
    scorer_folder()
    manifest = write(tmp_path / "m.jsonl", {"audio": str(CARDS / "003.wav"), "phrases": PHRASES, "truth": None})
    done = hear(manifest, "--json")
    answer = json.loads(done.stdout)
    assert (answer["engine"], answer["heard"]) == ("scorer", "seven of clubs")
    assert "intruders accepted  1 of 1" in done.stderr


def test_bad_sound_is_named_and_the_rest_goes_on(tmp_path: Path) -> None:
    need_human_sound()
    (tmp_path / "empty.wav").write_bytes(b"")
    soundfile.write(tmp_path / "none.wav", np.zeros(0), 16_000)
    (tmp_path / "damaged.wav").write_bytes(b"RIFF and then nothing of the kind")
    manifest = write(
        tmp_path / "m.jsonl",
        *({"audio": name, "phrases": PHRASES, "truth": None} for name in ("empty.wav", "none.wav", "damaged.wav")),
        {"audio": "no phrases.wav", "phrases": []},
        {"audio": str(CARDS / "003.wav"), "phrases": PHRASES, "truth": "seven of clubs"},
    )
    done = hear(manifest, "--engine", "pocketsphinx", "--json")
    assert done.returncode == 1
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert [answer["heard"] for answer in answers] == [None, None, None, None, "seven of clubs"]
    for answer, name in zip(answers, ("empty.wav", "none.wav", "damaged.wav", "m.jsonl:4"), strict=False):
        assert name in answer["error"]
        assert answer["error"] in done.stderr
    assert "error" not in answers[4]
    assert "Traceback" not in done.stderr
    assert "could not be used   4" in done.stderr


@pytest.mark.parametrize(("rate", "channels", "subtype"), [(8_000, 1, "PCM_16"), (48_000, 2, "PCM_24")])
def test_other_rates_and_depths_are_heard(tmp_path: Path, rate: int, channels: int, subtype: str) -> None:
    need_human_sound()
    scorer_folder()
    import soxr

    sound, original = soundfile.read(CARDS / "003.wav")
    changed = soxr.resample(sound, original, rate)
    soundfile.write(tmp_path / "a.wav", np.repeat(changed[:, None], channels, axis=1), rate, subtype=subtype)
    manifest = write(tmp_path / "m.jsonl", {"audio": "a.wav", "phrases": PHRASES, "truth": "seven of clubs"})
    done = hear(manifest, "--engine", "scorer", "--json")
    assert json.loads(done.stdout)["heard"] == "seven of clubs"


def test_silence_is_no_phrase(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "quiet.wav", np.zeros(16_000), 16_000)
    manifest = write(tmp_path / "m.jsonl", {"audio": "quiet.wav", "phrases": PHRASES, "truth": None})
    done = hear(manifest, "--engine", "pocketsphinx")
    assert done.returncode == 0
    assert done.stdout.startswith("quiet.wav: nothing (")


def test_words_an_engine_cannot_hear_are_said(tmp_path: Path) -> None:
    need_human_sound()
    entry = {"audio": str(CARDS / "003.wav"), "phrases": ["seven of clubs", "zzxqy blorp"], "truth": "seven of clubs"}
    done = hear(write(tmp_path / "m.jsonl", entry), "--engine", "pocketsphinx", "--json")
    assert json.loads(done.stdout)["heard"] == "seven of clubs"
    assert "does not know `blorp`, `zzxqy`" in done.stderr


@pytest.mark.parametrize(
    ("arguments", "says"),
    [(["away.jsonl"], "no such manifest"), (["m.jsonl", "--engine", "ears"], "`ears` is no recogniser; accepted:")],
)
def test_wrong_arguments_get_a_sentence(tmp_path: Path, arguments: list[str], says: str) -> None:
    write(tmp_path / "m.jsonl", {"audio": "a.wav", "phrases": ["a"], "truth": None})
    done = hear(tmp_path / arguments[0], *arguments[1:])
    assert done.returncode != 0
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
