"""The hashed bytes against RFC 8785's own examples and its reference implementation in Python."""

import json
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.record.canonical import LARGEST, canonical, parse

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
WHOLE = st.integers(-LARGEST, LARGEST)
VALUES = st.recursive(
    st.none() | st.booleans() | WHOLE | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=12,
)
OBJECTS = st.dictionaries(TEXTS, VALUES, max_size=6)


def test_strings_and_literals_of_rfc_8785_section_3_2_2() -> None:
    # RFC 8785, section 3.2.2 and the hexadecimal bytes of 3.2.4 (from memory), its numbers left out: floats are refused
    given_value = json.loads(
        r'{"string": "\u20ac$\u000F\u000aA\u0027\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}'
    )
    wanted = bytes.fromhex(
        "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c"
        "22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"
    )
    assert canonical(given_value) == wanted
    assert parse(wanted) == given_value


def test_sorting_of_rfc_8785_section_3_2_3() -> None:
    # RFC 8785, section 3.2.3 (from memory): by UTF-16 units, so the emoji (D83D ...) comes before U+FB33
    given_value = json.loads(
        r'{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh",'
        r' "1": "One", "\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control",'
        r' "\u00f6": "Latin Small Letter O With Diaeresis"}'
    )
    order = [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]
    line = canonical(given_value)
    assert list(json.loads(line).values()) == order
    assert parse(line) == given_value


@given(OBJECTS)
def test_what_is_written_is_what_the_reference_library_gives_and_reads_back(value: dict[str, Any]) -> None:
    line = canonical(value)
    assert line == rfc8785.dumps(value)
    assert b"\n" not in line
    assert parse(line) == value


@given(OBJECTS, st.booleans(), st.booleans())
def test_any_other_way_of_writing_it_is_refused(value: dict[str, Any], spaced: bool, escaped: bool) -> None:
    other = json.dumps(value, indent=1 if spaced else None, ensure_ascii=escaped).encode()
    if other == rfc8785.dumps(value):
        assert parse(other) == value
    else:
        with pytest.raises(ValueError, match="canonical"):
            parse(other)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ({"dose": 2.5}, "entry.dose: 2.5 is a float"),
        ({"seen": [{"x": {1, 2}}]}, r"entry.seen\[0\].x: .* is a set"),
        ({"n": 2**53}, "entry.n: 9007199254740992 is too large"),
        ({"n": -(2**53)}, "too large"),
        ({4: "four"}, "the key 4 is not text"),
        ({"half": "\ud83d"}, "whole Unicode"),
        ({"raw": b"x"}, "is a bytes"),
    ],
)
def test_what_has_no_place_in_a_record_is_named(body: dict[Any, Any], says: str) -> None:
    with pytest.raises(RecordError, match=says):
        canonical(body)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"", "not JSON"),
        (b"[]", "not a JSON object"),
        (b"null", "not a JSON object"),
        (b"\xff{}", "not UTF-8"),
        (b"{" * 100_000, "not JSON"),
        (b'{"a":' * 100_000, "nested too deeply"),
        (b'{"a":1.5}', "1.5"),
        (b'{"a":1e3}', "1e3"),
        (b'{"a":NaN}', "NaN"),
        (b'{"a":-0}', "canonical"),
        (b'{"a":1,"a":1}', "canonical"),
        (b'{"a":1} ', "canonical"),
        (b'{"b":1,"a":1}', "canonical"),
        (b'{"a":"\\ud83d"}', "whole Unicode"),
        (b'{"a":"\\u0041"}', "canonical"),
        (b'{"a":9007199254740992}', "too large"),
        (b'{"a":' + b"9" * 5000 + b"}", "too large"),
    ],
)
def test_lines_that_are_no_canonical_object_are_refused_in_plain_words(line: bytes, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        parse(line)
