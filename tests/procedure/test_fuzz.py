"""Whatever bytes a file holds, loading gives a procedure or ProcedureError, and gives it soon.

Hypothesis's own deadline (2 s an example) is what would catch a hang.
"""

import random
from datetime import timedelta
from pathlib import Path

import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import ProcedureError
from companion.procedure.loading import load, load_text
from companion.procedure.loading.nodes import Unreadable, compose
from companion.procedure.loading.settings import plain

ROOT = Path(__file__).parents[2]
WHOLE = (ROOT / "tests" / "data" / "whole.yaml").read_text(encoding="utf-8")
INSULIN = (ROOT / "procedures" / "subcutaneous-insulin.yaml").read_text(encoding="utf-8")
SOON = settings(
    deadline=timedelta(seconds=2),
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
PIECES = ["[", "]", "{", "}", ": ", "- ", "\n", "  ", "&a ", "*a", "!!str ", "|\n", ">-\n", "'", '"', "#", "?", "$rub"]
PIECES += ["{dose}", "\t", "\\", "%", "---\n", "...\n", "é", "\u2028", "\x85", "1", "-1", "0.10", "yes", "stop", "~"]


def only_our_error(text: str) -> None:
    try:
        load_text(text)
    except ProcedureError as error:
        assert error.faults  # either outcome is right; an error must say something
        assert all("\n" not in fault for fault in error.faults)


@SOON
@given(raw=st.binary(max_size=2000))
def test_random_bytes(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "given.yaml"
    path.write_bytes(raw)
    try:
        load(path)
    except ProcedureError as error:
        assert error.faults


@SOON
@given(
    text=st.lists(st.sampled_from([*PIECES, "steps", "id", "kind", "action", "settings", "x"]), max_size=60).map(
        "".join
    )
)
def test_random_yaml(text: str) -> None:
    only_our_error(text)


@settings(SOON, max_examples=60)
@given(seed=st.integers(0, 2**32), cuts=st.integers(1, 4))
def test_mutated_characters(seed: int, cuts: int) -> None:
    chance = random.Random(seed)
    text = chance.choice([WHOLE, INSULIN])
    for _ in range(cuts):
        at = chance.randrange(len(text))
        text = text[:at] + chance.choice([*PIECES, ""]) + text[at + chance.choice([0, 1, 7]) :]
    only_our_error(text)


@SOON
@given(seed=st.integers(0, 2**32), moves=st.integers(1, 4))
def test_mutated_lines(seed: int, moves: int) -> None:
    chance = random.Random(seed)
    lines = WHOLE.splitlines(keepends=True)
    for _ in range(moves):
        at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
        line = lines[at]
        match chance.randrange(4):
            case 0:
                del lines[at]
            case 1:
                lines.insert(to, line)
            case 2:
                lines[at], lines[to] = lines[to], line
            case _:
                key, colon, _ = line.partition(":")
                lines[at] = key + colon + " " + chance.choice([*PIECES, "side", "halt", "60"]).strip() + "\n"
    only_our_error("".join(lines))


json_like = st.recursive(
    st.text(st.characters(blacklist_categories=("Cs", "Cc", "Co", "Cn")), max_size=12),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("abcdefg", min_size=1, max_size=4), inner, max_size=4)
    ),
    max_leaves=20,
)


@SOON
@given(value=st.dictionaries(st.text("abcdefg", min_size=1, max_size=4), json_like, max_size=4))
def test_the_tree_is_what_pyyaml_reads(value: object) -> None:
    """Against PyYAML's own BaseLoader, which makes text of every scalar too."""
    text = yaml.safe_dump(value, allow_unicode=True)
    try:
        root, faults = compose(text)
    except Unreadable as error:
        assert "deep" in str(error)  # the only thing that can be wrong with what PyYAML wrote
        return
    assert not faults
    assert plain(root) == yaml.load(text, Loader=yaml.BaseLoader)
