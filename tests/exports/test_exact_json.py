"""Figures keep their digits: `json` of the standard library reads back what was written."""

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.exports.exact_json import exact_json

_LEAVES = st.none() | st.booleans() | st.integers() | st.text() | st.decimals(allow_nan=False, allow_infinity=False)
_VALUES = st.recursive(_LEAVES, lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=20)


@given(_VALUES)
def test_what_is_written_is_what_is_read(value: Any) -> None:
    assert json.loads(exact_json(value), parse_float=Decimal) == value


def test_digits_stay() -> None:
    assert exact_json({"value": Decimal("0.180")}) == '{\n  "value": 0.180\n}'
    assert exact_json(Decimal("1E+2")) == "100"


@pytest.mark.parametrize("value", [0.18, Decimal("NaN"), b"x", object(), {"a": [1.5]}])
def test_a_float_is_refused(value: Any) -> None:
    with pytest.raises(TypeError, match="no exact form"):
        exact_json(value)
