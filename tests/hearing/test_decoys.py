"""Decoys: the near misses that matter are made, and never steal an allowed phrase."""

import pytest
from num2words import num2words

from companion.hearing.decoys import MOST, decoys_for
from companion.hearing.phone_distance import same_sound
from companion.hearing.pronunciation import unknown_words

# What must be refused when the phrase on the left is allowed: opposites, denials and sound-alikes; common practice.
NEEDED = [
    ("gloves on", "gloves off"),
    ("gloves on", "gloves not on"),
    ("hands clean", "hands not clean"),
    ("left thigh", "right thigh"),
    ("dose given", "dose not given"),
    ("name matched", "name not matched"),
    ("name matches", "name does not match"),
    ("correct", "incorrect"),
    ("correct", "not correct"),
    ("yes", "no"),
    ("before meals", "after meals"),
    ("vial opened", "vial unopened"),
    ("valve open", "valve closed"),
    ("done", "not done"),
    ("confirmed", "not confirmed"),
    ("thirteen units", "thirty units"),
    ("fifty units", "fifteen units"),
    ("no allergies", "some allergies"),
    ("not given", "given"),
]


@pytest.mark.parametrize(("phrase", "near"), NEEDED)
def test_near_misses_that_matter(phrase: str, near: str) -> None:
    assert near in decoys_for((phrase,))


@pytest.mark.parametrize("phrase", [phrase for phrase, _ in NEEDED if phrase.split()[0] not in ("no", "not")])
def test_every_confirmation_has_a_denial(phrase: str) -> None:
    assert any({"not", "no"} & set(decoy.split()) for decoy in decoys_for((phrase,), fillers=False))


def test_an_allowed_phrase_is_no_decoy_however_it_is_spelled() -> None:
    phrases = ("gloves on", "gloves off", "yes", "no", "thirteen units", "thirty units", "not yet", "okay")
    made = decoys_for(phrases)
    assert not set(made) & set(phrases)
    assert "know" not in made  # the same sound as "no"
    assert not any(same_sound(decoy, phrase) for decoy in made for phrase in phrases)


def test_the_same_again() -> None:
    assert decoys_for(("gloves on", "stop")) == decoys_for(("gloves on", "stop"))


def test_a_thousand_numbers_stay_few() -> None:
    numbers = [num2words(n).replace("-", " ") + " units" for n in range(1000)]
    made = decoys_for(numbers)
    assert len(made) <= MOST + 60
    assert not set(made) & set(numbers)


def test_words_the_engine_cannot_hear_are_left_out() -> None:
    made = decoys_for(
        ("gloves on",), "en-GB", lambda phrases: tuple(w for p in phrases for w in p.split() if w == "off")
    )
    assert made and not any("off" in decoy.split() for decoy in made)


def test_all_decoys_can_be_heard() -> None:
    phrases = tuple(phrase for phrase, _ in NEEDED)
    assert unknown_words(decoys_for(phrases, "en-US", unknown_words)) == ()


def test_a_language_without_a_table() -> None:
    assert decoys_for(("장갑 착용",), "ko-KR") == ()
