"""Words that people were heard to use. The arithmetic is Bayes' rule, worked out by hand for one case."""

from math import isclose

import pytest

from companion.meaning.lexicon import OTHER, Lexicon, lexicon_of, tokens
from companion.meaning.words import words
from tests.rehearsals import procedure

LEARNT = ("capillary-glucose", "subcutaneous-insulin", "vaccine-deltoid")
SMALL = Lexicon({"wipe": (3, {"swab": 3, "top": 1}), "draw": (3, {"mark": 3, "top": 1})})


def test_bayes_rule_for_one_word() -> None:
    """`swab` stood in 3 of 3 and 0 of 3 utterances, half of all: (3 + 0.75) / 4.5 against 0.75 / 4.5, which is 5 to 1.

    Each word is flattened by the power 0.6.
    """
    found = SMALL.likely(["swab"])
    assert isclose(found["wipe"] / found["draw"], 5**0.6)
    assert isclose(sum(found.values()), 1)


def test_a_word_that_both_have_tells_neither_and_one_never_heard_tells_nothing() -> None:
    assert isclose(SMALL.likely(["top"])["wipe"], 0.5)
    assert SMALL.likely(["elephant"]) == {}


def test_words_that_do_not_count_are_no_tokens() -> None:
    said = words("not the swab, two marks")
    assert list(tokens(said, ["denied", "denied", "denied", "", ""], range(5))) == ["#", "mark", "# mark"]


@pytest.mark.parametrize("name", LEARNT)
def test_what_was_counted_is_of_steps_that_are_there(name: str) -> None:
    """Of a step that came later nothing was counted; when many have come it is time to count anew."""
    lexicon = lexicon_of(name)
    assert lexicon is not None
    counted, today = set(lexicon.said) - {OTHER}, {step.id for step in procedure(name).steps}
    assert counted <= today
    assert len(counted) >= 0.8 * len(today)
    assert all(max(counts.values()) <= number for number, counts in lexicon.said.values())


def test_a_procedure_without_counts_does_without() -> None:
    assert lexicon_of("insulin-pen") is None
