"""A million random orders, by hand: `python -m tests.bench.orders [COUNT] [SEED]`.

Each result is checked exactly (see tests/dose/random_orders.py); the table says how they came out and how long one
takes as a multiple of the bare fraction arithmetic on the same machine.
"""

import sys
import time
from fractions import Fraction

from rich.console import Console
from rich.table import Table

from tests.dose.random_orders import run

COUNT = 1_000_000


def bare(count: int) -> float:
    """Seconds for as many bare divisions, multiplications and roundings of fractions."""
    began = time.perf_counter()
    for number in range(1, count + 1):
        exact = Fraction(number, 100) / Fraction(100) * Fraction(5, 2)
        divmod(exact.numerator * 100, exact.denominator)
    return time.perf_counter() - began


def main() -> None:
    """Run and print. An AssertionError, or an exception that is not ours, ends it."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    baseline = bare(count)
    began = time.perf_counter()
    tally = run(count, seed)
    spent = time.perf_counter() - began
    table = Table(title=f"{count:,} random orders, seed {seed}: every result exact, every refusal ours")
    table.add_column("came out")
    table.add_column("orders", justify="right")
    for outcome, number in sorted(tally.items()):
        table.add_row(outcome, f"{number:,}")
    table.add_row("time, times bare fractions", f"{spent / baseline:.1f}")
    Console().print(table)


if __name__ == "__main__":
    main()
