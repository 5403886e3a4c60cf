"""The reader on the real model. What counts as saying a step is common practice of examiners; the talks are ours."""

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from safetensors.numpy import save_file

from companion.errors import ModelError
from companion.meaning.likely import LEAST, Likely, TalkReader
from companion.meaning.reader import fetched
from companion.meaning.reader.fetched import MODEL, NOT_HERE, VOCABULARY, WEIGHTS, open_reader, taught
from companion.meaning.reader.pieces import Piece
from companion.meaning.reader.reader import STRETCH, stretches
from companion.models.catalogue import find, load_catalogue
from companion.procedure.loading import load
from tests.meaning.reader_parts import model_folder
from tests.rehearsals import ROOT, procedure

INSULIN = procedure("subcutaneous-insulin")
REWORDED = {
    "hands-before-patient": "Right, before I go anywhere near her I foam up and let it dry.",
    "identify": "Tell me who you are, love, and when you were born. And so it says on your band and on my sheet.",
    "wipe-stopper": "The bung gets a good scrub with the spirit wipe.",
    "sharps": "I do not put the lid back on, straight into the yellow bin with it, all in one.",
}
REMARK = "It is going to rain, I should think."
BOTH = "The bung gets a good scrub with the spirit wipe, and I leave it be till there is no shine on it."


def talk() -> list[tuple[str, str]]:
    """Steps and words of a whole talk, some of them reworded; a remark that says nothing comes tenth."""
    body = yaml.safe_load((ROOT / "tests" / "data" / "talkthroughs" / "subcutaneous-insulin.yaml").read_text("utf-8"))
    said = [(step, REWORDED.get(step, text)) for line in body["said"] for step, text in line.items()]
    return [*said[:9], ("", REMARK), *said[9:]]


TALK = [text for _, text in talk()]


def reader() -> TalkReader:
    model_folder()
    found, missing = open_reader(INSULIN)
    assert found is not None, missing
    return found


def likely(row: Sequence[Likely]) -> set[str]:
    return {each.step for each in row if each.odds > 0}


def test_words_of_nobody_else_are_understood_by_what_they_mean() -> None:
    for (step, text), row in zip(talk(), reader().read(TALK), strict=True):
        if step in REWORDED or not step:
            assert likely(row) == ({step} if step else set()), text


def test_the_word_that_tells_most_lies_where_the_step_is_said() -> None:
    place = [step for step, _ in talk()].index("wipe-stopper")
    row = reader().read([*TALK[:place], BOTH, *TALK[place + 2 :]])[place]
    at = {each.step: each.at for each in row if each.odds > 0}
    assert set(at) == {"wipe-stopper", "stopper-dry"}
    assert at["wipe-stopper"] < BOTH.index("and I leave") < at["stopper-dry"]


def test_only_what_is_not_out_of_the_question_is_told_and_of_the_procedure() -> None:
    steps = {step.id for step in INSULIN.steps}
    for row in reader().read(TALK):
        assert {each.step for each in row} <= steps
        assert all(each.odds >= LEAST for each in row)


def test_a_talk_that_grows_is_read_as_it_is_read_at_once() -> None:
    grown = reader()
    for end in range(1, len(TALK), 5):
        grown.read(TALK[:end])
    assert grown.read(TALK) == reader().read(TALK)


def test_an_empty_talk_and_an_utterance_without_words() -> None:
    assert list(reader().read([])) == []
    assert len(reader().read(["", "…"])) == 2


@given(st.lists(st.integers(1, 150), max_size=60))
def test_stretches_hold_every_utterance_whole_and_overlap(lengths: list[int]) -> None:
    talk = [tuple(Piece(1, 0) for _ in range(length)) for length in lengths]
    found = list(stretches(talk))
    assert all(each.length <= STRETCH or len(each.utterances) == 1 for each in found)
    assert {each.first + n for each in found for n in range(len(each.utterances))} == set(range(len(talk)))
    assert all(one.first < other.first <= one.first + len(one.utterances) for one, other in pairwise(found))


def test_the_reader_knows_nearly_every_step_of_what_it_was_taught() -> None:
    for name, steps in taught().items():
        today = {step.id for step in procedure(name).steps}
        assert len(today & set(steps)) >= 0.8 * len(today), f"teach it anew: {name}"


def test_it_tells_only_of_steps_that_it_was_taught_and_that_are_still_there(tmp_path: Path) -> None:
    text = (ROOT / "procedures" / "subcutaneous-insulin.yaml").read_text(encoding="utf-8")
    path = tmp_path / "subcutaneous-insulin.yaml"
    path.write_text(text.replace("hands-after", "hands-at-last"), encoding="utf-8")
    changed = load(path).procedure
    model_folder()
    found, missing = open_reader(changed)
    assert found is not None, missing
    told = {each.step for row in found.read(["I clean my hands one last time", "I sign the chart"]) for each in row}
    assert "hands-after" not in told and told <= {step.id for step in changed.steps}


def test_a_procedure_that_was_not_taught_has_no_reader_and_needs_nothing() -> None:
    assert "insulin-pen" not in taught()
    assert open_reader(procedure("insulin-pen")) == (None, "")


def test_without_the_model_it_says_what_fetches_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPANION_MODELS", str(tmp_path))
    assert open_reader(INSULIN) == (None, NOT_HERE)
    assert f"companion models fetch {MODEL}" in NOT_HERE


def test_a_model_that_is_not_the_one_meant(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPANION_MODELS", str(tmp_path))
    folder = tmp_path / MODEL
    folder.mkdir()
    save_file({}, folder / WEIGHTS)
    (folder / VOCABULARY).write_text("[CLS]\n[SEP]\n[UNK]\n", encoding="utf-8")
    with pytest.raises(
        ModelError, match=r"is not the model that reads .*; fetch it again: companion models fetch reader"
    ):
        open_reader(INSULIN)


def test_a_model_that_is_damaged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = (model_folder() / WEIGHTS).read_bytes()
    monkeypatch.setenv("COMPANION_MODELS", str(tmp_path))
    (tmp_path / MODEL).mkdir()
    (tmp_path / MODEL / WEIGHTS).write_bytes(whole[:1000])
    with pytest.raises(ModelError, match=r"cannot be read as weights.*; fetch it again: companion models fetch reader"):
        open_reader(INSULIN)
    (tmp_path / MODEL / WEIGHTS).write_bytes(whole)
    with pytest.raises(ModelError, match=r"vocab\.txt: .*cannot be read: No such file.*; fetch it again"):
        open_reader(INSULIN)


def test_the_catalogue_has_it_and_no_recogniser_is_made_of_it() -> None:
    assert find(MODEL).engine == "reader"
    assert {model.id for model in load_catalogue() if model.engine == "reader"} == {MODEL, "meanings"}
    assert fetched.TAUGHT.is_file()
