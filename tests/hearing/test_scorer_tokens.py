"""The tokenizer against tokenisations published elsewhere."""

from pathlib import Path

import pytest

from companion.errors import ModelError
from companion.hearing.scorer.tokens import Tokenizer
from tests.hearing.scorer_parts import scorer_model


@pytest.mark.parametrize(
    ("text", "tokens"),
    [
        # The vocabulary is that of Llama 2 (Moonshine, arXiv 2410.15608); these are its tokens, from memory.
        ("Hello world", (15043, 3186)),
        ("The", (450,)),
        ("14", (29871, 29896, 29946)),
    ],
)
def test_encodes_as_published(text: str, tokens: tuple[int, ...]) -> None:
    assert scorer_model().tokenizer.encode(text) == tokens


@pytest.mark.parametrize("text", ["Gloves on.", "0.14 mL", "twenty-one", "it's dry", "37 °C", "½", "naïve 手"])
def test_decoding_gives_the_text_back(text: str) -> None:
    tokenizer = scorer_model().tokenizer
    assert tokenizer.decode(tokenizer.encode(text)) == text


def test_lengths_of_two_bytes(tmp_path: Path) -> None:
    pieces = [b"x"] * 259 + [b"a" * 200]
    data = b"".join(bytes([len(p)]) + p for p in pieces[:259]) + bytes([128 + 200 % 128, 200 // 128]) + pieces[259]
    path = tmp_path / "tokenizer.bin"
    path.write_bytes(data)
    assert Tokenizer.load(path).decode([259]) == "a" * 200


def test_a_cut_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "tokenizer.bin"
    path.write_bytes(b"\x05abc")
    with pytest.raises(ModelError, match=r"tokenizer\.bin: is not the scorer's tokenizer"):
        Tokenizer.load(path)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="companion models fetch scorer"):
        Tokenizer.load(tmp_path / "tokenizer.bin")
