"""No float, no result off by a mark, no exception not ours. A million of them: `python -m tests.bench.orders`."""

import ast
from decimal import Decimal, FloatOperation, getcontext, localcontext
from pathlib import Path

import pytest

import companion.dose
from companion.dose import work_out
from companion.speech.numbers import CONTEXT
from tests.dose.random_orders import run

SAMPLE = 20_000


def test_random_orders_come_out_right_or_are_refused_by_us() -> None:
    tally = run(SAMPLE, seed=4)
    assert tally.total() == SAMPLE
    for outcome in (
        "insulin: measured",
        "insulin: cannot be measured",
        "ordinary: measured",
        "ordinary: cannot be measured",
        "infusion: worked out",
        "refused: absurd",
        "refused: spoilt",
        "spoilt, yet sound",
    ):
        assert tally[outcome] > 50, f"too few of `{outcome}` to mean anything: {tally}"


@pytest.mark.parametrize(
    "path", sorted(Path(companion.dose.__file__).parent.glob("*.py")), ids=lambda path: str(path.name)
)
def test_no_float_is_written_in_the_source(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        assert not (isinstance(node, ast.Constant) and isinstance(node.value, float)), ast.dump(node)
        assert not (isinstance(node, ast.Name) and node.id in ("float", "math", "numpy")), f"line {node.lineno}"


def test_the_callers_decimal_context_changes_nothing() -> None:
    inputs = {"required": "8,500 units", "strength": "20,000 units/mL"}
    with localcontext() as own:
        own.prec = 2
        own.traps[FloatOperation] = True
        assert work_out("volume", inputs).unrounded == Decimal("0.425")
        assert getcontext().prec == 2


def test_our_own_context_refuses_to_mix_in_a_float() -> None:
    with pytest.raises(FloatOperation):
        CONTEXT.create_decimal(0.1)
