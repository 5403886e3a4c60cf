"""A talk that was written down, judged by the command. What counts as having said a step is common practice of
examiners; the talks and what each line says are ours (`tests/data/talkthroughs`)."""

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from companion import places
from companion.conversation.room import LONGEST_TYPED
from companion.meaning.reader.fetched import MODEL, WEIGHTS
from companion.procedure.loading import find, load_rehearsed
from companion.rehearsal.judging.expected import expected_steps
from tests import commands
from tests.meaning.reader_parts import model_folder
from tests.rehearsal.test_talkthroughs import FOLDER, read
from tests.rehearsals import ROOT

MODELS = str(places.models())
HYGIENE, SAID = read(FOLDER / "hand-hygiene.yaml")
INSULIN = read(FOLDER / "subcutaneous-insulin.yaml")[1]
Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def judge(tmp_path: Path) -> Run:
    """`companion rehearse FILE --talk TALK OPTIONS`, the talk as bytes or text; nothing may be left in the home."""

    def run(file: str, talk: bytes | str, *options: str, models: str = MODELS) -> "subprocess.CompletedProcess[str]":
        path, home = tmp_path / "talk.txt", tmp_path / "home"
        path.write_bytes(talk if isinstance(talk, bytes) else talk.encode())
        words = ("rehearse", file, "--talk", str(path), *options)
        done = commands.companion(*words, home=home, COMPANION_MODELS=models)
        assert not (home / "records").exists(), "nothing is recorded"
        return done

    return run


def told(done: "subprocess.CompletedProcess[str]") -> dict[str, list[Any]]:
    assert done.returncode == 0, done.stderr
    (line,) = done.stdout.splitlines()
    found: dict[str, list[Any]] = json.loads(line)
    assert list(found) == ["said", "doubt", "missed"]
    return found


def test_each_step_is_told_with_the_line_that_says_it_and_what_was_left_out_is_missed(judge: Run) -> None:
    kept = [(step, text) for step, text in SAID if step != HYGIENE["taken out"]]
    found = told(judge("hand-hygiene", "\n".join(text for _, text in kept), "--json"))
    assert found["said"] == [{"utterance": n, "step": step} for n, (step, _) in enumerate(kept)]
    assert (found["doubt"], found["missed"]) == ([], [HYGIENE["taken out"]])


def test_utterances_are_counted_by_their_lines_the_empty_ones_too(judge: Run) -> None:
    """Windows ends a line with two characters and begins a file with a mark (RFC 3629, section 6)."""
    for end in ("\n", "\r\n", "\r"):
        talk = (end + end).join(text for _, text in SAID) + end
        found = told(judge("hand-hygiene", b"\xef\xbb\xbf" + talk.encode(), "--json"))
        assert found["said"] == [{"utterance": 2 * n, "step": step} for n, (step, _) in enumerate(SAID)]


def test_any_procedure_file_will_do(judge: Run, tmp_path: Path) -> None:
    own = tmp_path / "of-our-own.yaml"
    text = (ROOT / "procedures" / "hand-hygiene.yaml").read_text(encoding="utf-8")
    own.write_text(text.replace("id: hand-hygiene", "id: of-our-own", 1), encoding="utf-8")
    assert told(judge(str(own), SAID[0][1], "--json"))["said"] == [{"utterance": 0, "step": SAID[0][0]}]


def test_steps_that_nobody_can_recognise_are_in_doubt_and_why_is_told_apart_from_the_json(judge: Run) -> None:
    done = judge(str(commands.SHORT), "I wipe the tray", "--json")
    assert told(done) == {"said": [], "doubt": ["tray", "rub", "who", "ordered", "sign"], "missed": []}
    assert "nobody can tell when these steps are said: tray, rub" in done.stderr and done.stderr.count("\n") == 1


def test_a_step_in_doubt_is_neither_said_nor_missed(judge: Run, tmp_path: Path) -> None:
    """That the stopper is spoken of does not yet say that it was wiped."""
    options, none = ("--only", "wipe-stopper", "--json"), str(tmp_path / "none")
    found = told(judge("subcutaneous-insulin", "The stopper.", *options, models=none))
    assert found == {"said": [], "doubt": ["wipe-stopper"], "missed": []}


def test_each_step_due_is_told_once(judge: Run) -> None:
    """Of half a talk some are said, some in doubt and some missed; a clear insulin is not mixed."""
    due = set(expected_steps(load_rehearsed(find("subcutaneous-insulin"), {}).procedure, (), {})) - {"mix"}
    found = told(judge("subcutaneous-insulin", "\n".join(text for _, text in INSULIN[:9]), "--json"))
    said = [each["step"] for each in found["said"]]
    assert said and found["doubt"] and found["missed"]
    assert sorted([*said, *found["doubt"], *found["missed"]]) == sorted(due)


def test_in_words_it_is_a_report_for_a_person(judge: Run) -> None:
    done = judge("hand-hygiene", "\n".join(text for step, text in SAID if step != "thumbs"))
    assert done.returncode == 0, done.stderr
    assert f"   1  Product within reach: {SAID[0][1]}" in done.stdout
    assert "! " in done.stdout and ": it was not said." in done.stdout
    assert done.stdout.endswith("Outcome: not passed\n")
    assert "report" not in done.stdout.lower(), "there is none to be looked at"


def test_the_words_of_a_finding_are_shown_beneath_it(judge: Run, tmp_path: Path) -> None:
    done = judge("subcutaneous-insulin", "\nThe stopper.", "--only", "wipe-stopper", models=str(tmp_path / "none"))
    assert (
        "it may have been said in these words, and it was not sure; your educator decides.\n   2  The stopper.\n"
        in (done.stdout)
    )


def test_a_talk_is_judged_by_what_a_record_may_hold(judge: Run) -> None:
    """As in a rehearsal that is held: a name is not shown again, and the deed told beside it counts."""
    done = judge("subcutaneous-insulin", "Thanks, Margaret. I wipe the stopper of the vial.", "--only", "wipe-stopper")
    assert "Margaret" not in done.stdout and "I wipe the stopper of the vial." in done.stdout


def test_without_the_reader_it_says_what_to_fetch_and_judges_by_words(judge: Run, tmp_path: Path) -> None:
    talk = "\n".join(text for _, text in INSULIN)
    done = judge("subcutaneous-insulin", talk, "--json", models=str(tmp_path / "none"))
    found = told(done)
    assert len(found["said"]) + len(found["doubt"]) == len(INSULIN) and found["missed"] == []
    assert "companion models fetch reader" in done.stderr and done.stderr.count("\n") == 1


def test_with_the_reader_nothing_has_to_be_fetched(judge: Run) -> None:
    model_folder()
    done = judge("subcutaneous-insulin", "\n".join(text for _, text in INSULIN), "--json")
    found = told(done)
    assert len(found["said"]) + len(found["doubt"]) == len(INSULIN) and found["missed"] == []
    assert done.stderr == ""


def refused(done: "subprocess.CompletedProcess[str]", *parts: str) -> None:
    assert done.returncode == 1 and done.stdout == ""
    assert done.stderr.count("\n") == 1 and "Traceback" not in done.stderr
    assert all(part in done.stderr for part in parts), done.stderr


def test_a_reader_that_is_broken_is_told_in_one_sentence(judge: Run, tmp_path: Path) -> None:
    broken = tmp_path / "models" / MODEL
    broken.mkdir(parents=True)
    for file in model_folder().iterdir():
        (broken / file.name).symlink_to(file)
    (broken / WEIGHTS).unlink()
    (broken / WEIGHTS).write_bytes(b"no model")
    done = judge("subcutaneous-insulin", "I wipe the stopper", "--json", models=str(tmp_path / "models"))
    refused(done, str(broken / WEIGHTS), "companion models fetch reader")


@pytest.mark.parametrize(
    ("talk", "parts"),
    [
        (b"", ("nothing is said in it", "one utterance a line")),
        (b"\n  \n\t\n", ("nothing is said in it", "one utterance a line")),
        ("I count the é".encode("latin-1"), ("not UTF-8", "one utterance a line")),
        ("I wipe the stopper".encode("utf-16-le"), ("no text", "one utterance a line")),
        (b"so\n" + b"a" * (LONGEST_TYPED + 1), ("talk.txt:2: the line is too long", f"up to {LONGEST_TYPED}")),
        (b"so\n" * 1001, ("1001 lines", "at most 1000")),
        (b"so so so so\n" * 100_000, ("talk.txt", "262,144 bytes")),
    ],
)
def test_a_file_that_is_no_talk_gets_one_sentence(judge: Run, talk: bytes, parts: tuple[str, ...]) -> None:
    refused(judge("hand-hygiene", talk, "--json"), "talk.txt", *parts)


def test_a_talk_that_is_not_there_or_a_folder_gets_one_sentence(tmp_path: Path) -> None:
    for path, why in ((tmp_path / "none.txt", "No such file"), (tmp_path, "a folder or device, not a file")):
        refused(commands.companion("rehearse", "hand-hygiene", "--talk", str(path), home=tmp_path), str(path), why)


@pytest.mark.parametrize(
    ("options", "part"),
    [
        (("--json",), "accepted: together with `--talk FILE`"),
        (
            ("--talk", "talk.txt", "--screen"),
            "`--screen`: for a rehearsal that is held; accepted with `--talk`: `--only`",
        ),
        (("--talk", "talk.txt", "--script", "script.yaml"), "`--script`: for"),
        (("--talk", "talk.txt", "--microphone", "1"), "`--microphone`: for"),
        (("--talk", "talk.txt", "--help", "headings"), "`--help`: for"),
        (("--talk", "talk.txt", "--records", "here", "--student", "12"), "`--student`, `--records`: for"),
    ],
)
def test_options_that_do_not_go_together_get_one_sentence(options: tuple[str, ...], part: str, tmp_path: Path) -> None:
    refused(commands.companion("rehearse", "hand-hygiene", *options, home=tmp_path), part)


def test_whose_weak_steps_are_meant_may_be_told(judge: Run, tmp_path: Path) -> None:
    weak = ("--only", "weak", "--student", "12", "--records", str(tmp_path))
    refused(judge("hand-hygiene", "I rub", *weak), "`--only weak`: nothing of this procedure went wrong")


def test_a_fault_of_the_talk_or_of_an_option_is_told_alone(judge: Run) -> None:
    """Before what the file lacks, which is a remark."""
    refused(judge(str(commands.SHORT), b""), "nothing is said in it")
    refused(judge(str(commands.SHORT), "I wipe the tray", "--right", "tray=1"), "`--right tray`")
