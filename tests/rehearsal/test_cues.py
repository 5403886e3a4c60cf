"""What ends a rehearsal, and what is answered to words meant for the program. How people say so: from memory."""

from pathlib import Path

import pytest

from companion.meaning.words import words
from companion.record.reader import read_record
from companion.rehearsal import cues
from tests.rehearsal.test_loop import STRETCH, WHOLE, rehearse
from tests.rehearsals import FOLDER, TUNING, procedure, transcripts

INSULIN = procedure("subcutaneous-insulin")


def plain(text: str) -> str:
    return " ".join(word.text for word in words(text))


@pytest.mark.parametrize(
    "text",
    ["done", "Done.", "finished", "I'm done", "I'm done now", "that's it", "That's it, thanks.", "I have finished",
     "I've finished the procedure", "okay, that's everything", "so, that is all", "all done", "that's all I have",
     "the end", "stop", "right, I think I'm finished", "end of rehearsal", "quit"],
)  # fmt: skip
def test_it_is_over_in_anybodys_words(text: str) -> None:
    assert cues.ends(plain(text), prompted=False)


@pytest.mark.parametrize(
    "text",
    ["hands are done", "my hands are done", "done with the rub", "I'm done with the hand rub", "all right",
     "I have finished the dose", "and that's it for the vial", "I stop the bleeding", "the injection is finished",
     "not done yet", "everything is ready", "when I am finished I sign", "that is all the insulin"],
)  # fmt: skip
def test_a_deed_that_is_done_ends_nothing(text: str) -> None:
    assert not cues.ends(plain(text), prompted=False)


def test_nothing_that_says_a_step_ends_a_talk() -> None:
    """In no transcript that the detection is tuned on (invented, marked by hand)."""
    said = [each for name in TUNING for talk in transcripts(FOLDER / name) for each in talk.said if each.steps]
    assert len(said) > 2000
    assert [each.text for each in said if cues.ends(plain(each.text), prompted=False)] == []
    assert [each.text for each in said if cues.what_works(plain(each.text), "none", prompted=False)] == []


@pytest.mark.parametrize("word", ["done", "finished", "I'm done", "that's it"])
def test_what_comes_after_the_end_is_not_heard(tmp_path: Path, word: str) -> None:
    path, texts = rehearse(tmp_path, "none", *WHOLE[:2], word, *WHOLE[2:])
    assert [entry.kind for entry in read_record(path).entries].count("utterance") == 2
    assert "You said 2 of 4 steps" in texts[-1]


@pytest.mark.parametrize("word", ["okay", "next", "skip", "repeat", "done"])
def test_a_word_meant_for_the_program_is_answered_once_with_what_works(tmp_path: Path, word: str) -> None:
    path, texts = rehearse(tmp_path, "full", word, "skip it", *WHOLE)
    answers = [text for text in texts if "What works is hint" in text]
    assert len(answers) == 1
    assert "in your own words" in answers[0] and "that is all" in answers[0]
    entries = [entry for entry in read_record(path).entries if entry.kind == "utterance"]
    assert entries[0].body["says"] == answers, "what was said to it is durable first"
    assert len(entries) == 6


def test_done_answers_a_prompt_the_first_time_and_then_ends_it(tmp_path: Path) -> None:
    path, _ = rehearse(tmp_path, "full", "done", "done", *WHOLE)
    assert [entry.kind for entry in read_record(path).entries].count("utterance") == 1


def test_from_memory_a_nod_is_thinking_aloud_and_a_command_is_answered_once(tmp_path: Path) -> None:
    _, texts = rehearse(tmp_path, "none", "okay", "right", *WHOLE)
    assert len(texts) == 2
    other = tmp_path / "other"
    other.mkdir()
    _, texts = rehearse(other, "none", "next", "next", *WHOLE)
    assert [text for text in texts if "What works is hint" in text] == texts[1:2]


def test_every_step_of_the_stretch_is_still_prompted(tmp_path: Path) -> None:
    _, texts = rehearse(tmp_path, "full", "okay", *WHOLE)
    prompts = [INSULIN.step(step).say for step in STRETCH]
    assert [text for text in texts if text in prompts] == prompts
