"""The receipt code against base 32 of the standard library and an independent Luhn."""

import base64
import re

import pytest
import stdnum.luhn
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import UsageError
from companion.record.receipt import ALPHABET, read_receipt, receipt_of, spoken_receipt

HEADS = st.binary(min_size=32, max_size=32).map(bytes.hex)
RFC4648 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"


@given(HEADS)
def test_fifteen_characters_are_base_32_of_the_head_and_the_last_its_luhn_check(head: str) -> None:
    code = receipt_of(head)
    # RFC 4648, section 6 (base64.b32encode), with Crockford's letters in place of the RFC's
    as_rfc = base64.b32encode(bytes.fromhex(head)).decode()[:15]
    assert code.replace("-", "")[:15] == as_rfc.translate(str.maketrans(RFC4648, ALPHABET))
    assert stdnum.luhn.is_valid(code.replace("-", ""), ALPHABET)


@given(HEADS)
def test_a_code_is_read_however_it_is_typed(head: str) -> None:
    code = receipt_of(head)
    assert read_receipt(code.lower()) == code
    assert read_receipt(code.replace("-", " ")) == code
    assert read_receipt(code.replace("-", ".")) == code
    assert read_receipt(code.replace("-", "").replace("0", "o").replace("1", "l")) == code


@given(HEADS)
def test_a_code_is_read_in_the_words_it_was_spoken_in(head: str) -> None:
    code = receipt_of(head)
    said = spoken_receipt(code)
    for heard in (said, said.upper(), said.replace(",", ""), said.replace("x-ray", "x ray"), said.replace(" ", "-")):
        assert read_receipt(heard) == code
    # Other spellings of the same words, and the figures of ICAO Annex 10, volume II, 5.2.1 (from memory)
    other = said.replace("alfa", "alpha").replace("juliett", "juliet").replace("whiskey", "whisky")
    assert read_receipt(other.replace("nine", "niner").replace("three", "tree").replace("five", "fife")) == code


@given(HEADS)
def test_a_code_is_read_in_the_korean_words_it_was_spoken_in(head: str) -> None:
    code = receipt_of(head)
    said = spoken_receipt(code, "ko-KR")
    assert not re.search("[A-Za-z0-9]", said)
    for heard in (said, said.replace(",", ""), said.replace(" ", "-")):
        assert read_receipt(heard) == code


@given(HEADS, st.integers(0, 15), st.sampled_from(ALPHABET))
def test_one_wrong_character_is_called_mistyped(head: str, place: int, char: str) -> None:
    code = receipt_of(head).replace("-", "")
    wrong = code[:place] + char + code[place + 1 :]
    if wrong == code:
        assert read_receipt(wrong).replace("-", "") == code
    else:
        with pytest.raises(UsageError, match="mistyped"):
            read_receipt(wrong)


@pytest.mark.parametrize("typed", ["", "1234", "UUUU-UUUU-UUUU-UUUU", "0" * 17, "٣" * 16])
def test_what_cannot_be_a_code_is_refused_with_what_is_accepted(typed: str) -> None:
    with pytest.raises(UsageError, match="16 letters and figures are accepted"):
        read_receipt(typed)


def test_a_code_is_spoken_by_the_spelling_alphabet() -> None:
    assert spoken_receipt("9PV3-4G49-ESSP-1X88") == (
        "nine papa victor three, four golf four nine, echo sierra sierra papa, one x-ray eight eight"
    )
