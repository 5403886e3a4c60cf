"""How much of what is personal gets past the scan of free text, and how much that is not is held back.

    python -m tests.bench.privacy [measured|tuning] [--lines]

The lines in tests/data/privacy are invented. `tuning` may be looked at while the scan is changed, `measured` may not.
"""

import sys
import time
from collections import Counter
from datetime import date
from pathlib import Path

from statsmodels.stats.proportion import proportion_confint

from companion.record.privacy import looks_private

DATA = Path(__file__).parents[1] / "data" / "privacy"
TODAY = date(2026, 11, 28)
"""The day the lines were written on."""


def lines(part: str, which: str) -> list[tuple[str, str, str]]:
    """The kind, the way in and the text of each line of `part`, `tuning` or `measured`; `which` is `personal` or
    `clinical`. Where a line tells no way apart, its kind is the way."""
    text = (DATA / part / f"{which}.tsv").read_text(encoding="utf-8")
    cells = [line.split("\t") for line in text.splitlines()]
    return [(kind, way[0] if way else kind, said) for kind, *way, said in cells]


def wrong(part: str, which: str) -> list[tuple[str, str]]:
    """The kind and text of the lines decided wrongly: personal ones that enter, clinical ones that are held back."""
    personal = which == "personal"
    return [
        (kind, said)
        for kind, way, said in lines(part, which)
        if bool(looks_private(said, TODAY, talk=way not in ("setting", "path"))) != personal
    ]


def main(part: str = "measured", *options: str) -> None:
    begun = time.perf_counter()
    looks_private("one line first", TODAY)
    print(f"first line {1000 * (time.perf_counter() - begun):.0f} ms")
    for which, happens in (("personal", "enter"), ("clinical", "held back")):
        total, bad = Counter(kind for kind, _, _ in lines(part, which)), wrong(part, which)
        missed = Counter(kind for kind, _ in bad)
        rows = [*((kind, missed[kind], total[kind]) for kind in sorted(total)), ("all", len(bad), total.total())]
        print(f"\n{which}, {part}: {happens}")
        for kind, count, of in rows:
            low, high = proportion_confint(count, of, method="beta")
            print(f"{kind:>10} {count:4} of {of:4} = {count / of:6.1%} ({low:.1%} to {high:.1%})")
        if "--lines" in options:
            print(*(f"  {kind}: {said}" for kind, said in bad), sep="\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
