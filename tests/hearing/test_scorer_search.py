"""The search against counting every written form, on a human recording."""

import math

import numpy as np

from companion.hearing.files import read_sound
from companion.hearing.scorer.audio import prepare
from companion.hearing.scorer.decoder import END, START, TokenTree
from companion.hearing.scorer.lattice import BEGINNING, Lattice, State
from companion.hearing.scorer.search import LEAD, Search
from companion.hearing.scorer.weights import Floats
from tests.hearing.scorer_parts import CARDS, need_human_sound, scorer_model


def encoded(clip: str) -> Floats:
    need_human_sound()
    return scorer_model().encode(prepare(read_sound(CARDS / clip)).sound)


def every_form(lattice: Lattice) -> list[tuple[int, ...]]:
    """Each sequence of tokens that the network of a single phrase accepts."""
    found: list[tuple[int, ...]] = []
    open_ends: list[tuple[tuple[int, ...], tuple[State, ...]]] = [((), BEGINNING)]
    while open_ends:
        tokens, states = open_ends.pop()
        if lattice.complete(states):
            found.append(tokens)
        open_ends += [((*tokens, token), onward) for token, onward in lattice.onward(states).items()]
    return found


def summed(sound: Floats, forms: list[tuple[int, ...]]) -> float:
    """Chance that any of `forms` was said, each scored whole and by itself."""
    total = -math.inf
    for form in forms:
        tree = TokenTree(scorer_model().weights, sound)
        after = tree.grow((START, *form), range(-1, len(form)))
        way = sum(float(after[i, token]) for i, token in enumerate((*form, END)))
        total = float(np.logaddexp(total, way))
    return total


def test_sum_over_written_forms_is_complete() -> None:
    sound = encoded("004.wav")  # "five five"
    lattice = Lattice(["five five"], scorer_model().tokenizer)
    forms = every_form(lattice)
    assert len(forms) == len(set(forms)) > 100
    found = Search(scorer_model().weights, lattice, sound).run()
    # What the search leaves out adds at most three hundredths for each form: a tenth of a nat in all.
    assert abs(found.found[0].chance - summed(sound, forms)) < 0.1


def test_pruning_does_not_change_the_answer() -> None:
    sound = encoded("001.wav")  # "ten of clubs"
    phrases = ["ten of clubs", "ten of hearts", "queen of clubs", "seven of clubs", "stop"]
    together = Search(scorer_model().weights, Lattice(phrases, scorer_model().tokenizer), sound).run()
    ranked = {found.phrase: found.chance for found in together.found}
    assert next(iter(ranked)) == "ten of clubs"
    for phrase in phrases:
        alone = Search(scorer_model().weights, Lattice([phrase], scorer_model().tokenizer), sound).run()
        chance = alone.found[0].chance if alone.found else -math.inf
        if phrase in ranked:
            assert abs(ranked[phrase] - chance) < 0.1
        else:
            assert chance < ranked["ten of clubs"] - LEAD


def test_a_thousand_phrases_do_not_drown_the_one_said() -> None:
    numbers = ["seven", "eight", "nine", "ten", "four", "five", "six", "two", "three", "one"]
    others = [f"{a} {b} of {suit}" for a in numbers for b in numbers for suit in ("hearts", "spades", "diamonds")]
    sound = encoded("003.wav")  # "seven of clubs"
    lattice = Lattice([*others, "seven of clubs"], scorer_model().tokenizer)
    found = Search(scorer_model().weights, lattice, sound).run()
    assert found.found[0].phrase == "seven of clubs"


def test_a_short_phrase_may_be_said_twice_but_not_a_number() -> None:
    tokenizer = scorer_model().tokenizer
    for phrase, twice in (
        ("stop", True),
        ("go back", True),
        ("five", False),
        ("five five", False),
        ("the fifth", False),
    ):
        lattice = Lattice([phrase], tokenizer)
        states = BEGINNING
        for token in tokenizer.encode(f"{phrase} {phrase}"):
            states = lattice.onward(states).get(token, ())
        assert bool(lattice.complete(states)) is twice, phrase


def test_free_writing_is_followed_only_as_far_as_it_matters() -> None:
    sound = encoded("005.wav")  # eleven words
    lattice = Lattice(["stop", "go back"], scorer_model().tokenizer)
    found = Search(scorer_model().weights, lattice, sound).run()
    assert not found.free_done
    assert found.looked_at < 40
