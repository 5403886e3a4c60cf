"""Tables of the hearing benchmark, in Markdown."""

from collections.abc import Callable, Sequence
from itertools import pairwise

from companion.hearing.tally import quantile, share
from tests.bench.hearing_run import Outcome

Wanted = Callable[[Outcome], bool]
_WRONG: Wanted = lambda o: o.heard is not None  # noqa: E731


def rates(results: dict[str, list[Outcome]], rooms: Sequence[str]) -> str:
    """Misses and false acceptances, every engine side by side, in each room and by whose voice."""
    rows: list[tuple[str, Wanted, Wanted]] = []
    for source in ("human", "flite"):
        for room in rooms:
            here: Wanted = lambda o, s=source, r=room: o.source == s and o.room == r  # type: ignore[misc] # noqa: E731
            rows += [
                (f"{source}, {room}: phrase missed or mistaken", _and(here, "phrase"), lambda o: o.heard != o.truth),
                (f"{source}, {room}: other speech accepted", _and(here, "intruder", "talk"), _WRONG),
                (f"{source}, {room}: near miss or denial accepted", _and(here, "near"), _WRONG),
            ]
    lines = [_line(["measure", *results]), _line(["---"] * (len(results) + 1))]
    for label, among, bad in rows:
        cells = []
        for outcomes in results.values():
            counted = [o for o in outcomes if among(o)]
            cells.append(share(sum(bad(o) for o in counted), len(counted)))
        if any(cell != "none counted" for cell in cells):
            lines.append(_line([label, *cells]))
    return "\n".join(lines)


def _and(here: Wanted, *kinds: str) -> Wanted:
    return lambda o: here(o) and o.kind in kinds


def costs(results: dict[str, list[Outcome]], peaks: dict[str, float]) -> str:
    """Decision time, its ratio to the plain grammar's, false confirmations an hour of talk, and memory."""
    base = next((quantile([o.decide_s for o in r], 0.5) for n, r in results.items() if n == "grammar alone"), None)
    lines = [_line(["measure", *results]), _line(["---"] * (len(results) + 1))]
    medians = {name: quantile([o.decide_s for o in outcomes], 0.5) for name, outcomes in results.items()}
    lines.append(_line(["decision, median", *(f"{m:.3f} s" for m in medians.values())]))
    late = (quantile([o.decide_s for o in outcomes], 0.95) for outcomes in results.values())
    lines.append(_line(["decision, 95th percentile", *(f"{t:.3f} s" for t in late)]))
    if base:
        lines.append(_line(["times the plain grammar", *(f"{m / base:.0f}" for m in medians.values())]))
    hourly = []
    for outcomes in results.values():
        talk = [o for o in outcomes if o.kind == "talk" or (o.kind == "intruder" and o.source == "human")]
        hours = sum(o.sound_s for o in talk) / 3600
        taken = sum(o.heard is not None for o in talk)
        hourly.append(f"{taken} in {hours * 60:.0f} min" if hours else "none counted")
    lines.append(_line(["false confirmations in running talk", *hourly]))
    lines.append(_line(["peak memory", *(f"{peaks.get(name, 0):.0f} MB" for name in results)]))
    return "\n".join(lines)


def reliability(outcomes: list[Outcome]) -> str:
    """How often the phrase named was really said, for each band of the probability given; held-out half only."""
    edges = (0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0001)
    lines = [_line(["probability given", "mean", "really said"]), _line(["---"] * 3)]
    held_out = [o for o in outcomes if not o.fitting and o.nearest is not None and o.probability > 0]
    for low, high in pairwise(edges):
        band = [o for o in held_out if low <= o.probability < high]
        if band:
            mean = sum(o.probability for o in band) / len(band)
            said = sum(o.nearest == o.truth for o in band)
            lines.append(_line([f"{low:.2f} to {min(high, 1):.2f}", f"{mean:.3f}", share(said, len(band))]))
    return "\n".join(lines)


def faults(outcomes: list[Outcome], most: int = 40) -> str:
    """The single errors, to be read one by one."""
    wrong = [o for o in outcomes if o.heard != o.truth][:most]
    return "\n".join(
        f"  {o.kind}, {o.source}, {o.room}: said `{o.said}`, heard `{o.heard}`, "
        f"nearest `{o.nearest}` ({o.probability:.2f})"
        for o in wrong
    )


def _line(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"
