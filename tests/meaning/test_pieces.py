"""Pieces of words, against those that the reference library `tokenizers` (PyPI) finds with the same vocabulary."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from companion.errors import ModelError
from companion.meaning.reader.fetched import VOCABULARY
from companion.meaning.reader.pieces import Pieces
from tests.meaning.reader_parts import model_folder
from tests.rehearsals import FOLDER, TUNING, transcripts


@cache
def both() -> tuple[Pieces, Any]:
    from tokenizers import BertWordPieceTokenizer

    path = model_folder() / VOCABULARY
    return Pieces.load(path), BertWordPieceTokenizer(str(path), lowercase=True)


def check(text: str) -> None:
    ours, theirs = both()
    found, due = ours.of(text), theirs.encode(text, add_special_tokens=False)
    assert [piece.number for piece in found] == due.ids, text
    assert [piece.start for piece in found] == [begin for begin, _ in due.offsets], text


def test_every_utterance_of_the_transcripts() -> None:
    texts = {said.text for name in TUNING for talk in transcripts(FOLDER / name) for said in talk.said}
    assert len(texts) > 9000
    for text in texts:
        check(text)


@pytest.mark.parametrize(
    "text", ["", " ", "Naïve CAFÉ", "0.18mL!", "can't", "a" * 101, "a" * 100, "胰岛素 12", "x\u200by\tz"]
)
def test_text_that_is_odd(text: str) -> None:
    check(text)


SPECIAL = ("[CLS]", "[SEP]", "[UNK]", "[PAD]", "[MASK]")
"""Pieces that mean something to the model: the library takes them out of a text, and nobody says them."""


@settings(max_examples=300, deadline=None)
@given(st.text(st.characters(codec="utf-8", max_codepoint=0x24F), max_size=40))
def test_any_text_in_latin_letters(text: str) -> None:
    assume(not any(piece in text for piece in SPECIAL))
    check(text)


def test_what_is_written_like_a_special_piece_is_words() -> None:
    ours, _ = both()
    assert [ours.of(piece)[0].number for piece in SPECIAL] == [ours.of("[")[0].number] * len(SPECIAL)


def test_a_file_that_is_no_vocabulary(tmp_path: Path) -> None:
    path = tmp_path / "vocab.txt"
    with pytest.raises(ModelError, match=r"vocab\.txt: the vocabulary cannot be read"):
        Pieces.load(path)
    path.write_text("one\ntwo\n", encoding="utf-8")
    with pytest.raises(ModelError, match=r"vocab\.txt: is no vocabulary .*\[CLS\] is not in it"):
        Pieces.load(path)
