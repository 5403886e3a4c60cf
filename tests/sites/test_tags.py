"""Tags: random, and a slip of one digit or two swapped ones is noticed."""

import pytest
from stdnum import damm

from companion.errors import UsageError
from companion.sites.kept.tags import check_digit, new_tag, read_tag


def test_the_check_digit_is_damm_s() -> None:
    # python-stdnum's Damm algorithm as the reference
    for number in range(10_000):
        assert check_digit(f"{number:04}") == damm.calc_check_digit(f"{number:04}")


def test_every_single_slip_and_every_swap_is_refused() -> None:
    # What Damm's quasigroup promises (Damm 2004), on every hundredth tag
    for number in range(0, 10_000, 97):
        tag = f"{number:04}{check_digit(f'{number:04}')}"
        assert read_tag(tag) == tag
        slips = {tag[:i] + d + tag[i + 1 :] for i in range(5) for d in "0123456789"}
        swaps = {tag[:i] + tag[i + 1] + tag[i] + tag[i + 2 :] for i in range(4)}
        for wrong in (slips | swaps) - {tag}:
            with pytest.raises(UsageError, match="one of its digits is wrong or two are swapped"):
                read_tag(wrong)


@pytest.mark.parametrize("text", ["", "4143", "414355", "4143x", "٤١٤٣٥", "../41435", "41435.jsonl"])
def test_what_is_no_tag_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="accepted are the five digits"):
        read_tag(text)


@pytest.mark.parametrize("text", ["41435", "414 35", "41-435", " 4 1 4 3 5 "])
def test_a_tag_may_be_grouped_as_on_paper(text: str) -> None:
    assert read_tag(text) == "41435"


def test_tags_are_random() -> None:
    tags = {new_tag() for _ in range(300)}
    assert len(tags) > 250  # of 10,000; fewer has a chance below one in a million
    assert all(read_tag(tag) == tag for tag in tags)
