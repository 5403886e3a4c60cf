"""The word graph says exactly its phrases, checked by walking it."""

from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from companion.hearing.pocketsphinx.word_graph import word_graph


def sentences(phrases: list[str]) -> set[str]:
    """Everything the graph can say."""
    arcs, finals = word_graph(phrases)
    found = set()
    waiting: list[tuple[int, tuple[str, ...]]] = [(0, ())]
    while waiting:
        state, words = waiting.pop()
        if state in finals and words:
            found.add(" ".join(words))
        waiting.extend((to, (*words, word)) for at, to, word in arcs if at == state)
    return found


def test_a_prefix_is_a_phrase_of_its_own() -> None:
    phrases = ["go", "go back", "go back now", "back now", "now"]
    assert sentences(phrases) == set(phrases)


@given(st.lists(st.lists(st.sampled_from("abcd"), min_size=1, max_size=4).map(" ".join), min_size=1, max_size=12))
def test_says_exactly_the_phrases(phrases: list[str]) -> None:
    assert sentences(phrases) == set(phrases)


def test_a_thousand_numbers_share_their_words() -> None:
    numbers = [num2words(n).replace("-", " ") + " units" for n in range(1000)]
    arcs, _ = word_graph(numbers)
    assert sentences(numbers) == set(numbers)
    assert len(arcs) < 400  # 5,400 words when every number is a line of its own
