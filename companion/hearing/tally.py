"""Counting what was heard against what was said, with intervals."""

import math
from dataclasses import dataclass, field


def wilson(count: int, of: int) -> tuple[float, float]:
    """95 % interval for a share, by Wilson's score (J. Am. Stat. Assoc. 22:209, 1927); (0, 1) for nothing counted."""
    if of == 0:
        return 0.0, 1.0
    z = 1.959964
    share = count / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return max(0.0, middle - half), min(1.0, middle + half)


def share(count: int, of: int) -> str:
    """`3 of 120 (2.5 %, 0.9 to 7.1)`: the count, the share and its interval in percent."""
    if of == 0:
        return "none counted"
    low, high = wilson(count, of)
    return f"{count} of {of} ({100 * count / of:.1f} %, {100 * low:.1f} to {100 * high:.1f})"


def quantile(values: list[float], q: float) -> float:
    """The value that a share `q` of `values` does not exceed (nearest rank); NaN for none."""
    if not values:
        return math.nan
    ranked = sorted(values)
    return ranked[min(len(ranked) - 1, max(0, math.ceil(q * len(ranked)) - 1))]


@dataclass
class Tally:
    """Outcomes of utterances whose truth is known."""

    phrases: int = 0
    missed: int = 0
    wrong: int = 0
    intruders: int = 0
    accepted: int = 0
    decide_s: list[float] = field(default_factory=list)

    def add(self, truth: str | None, heard: str | None, decide_s: float) -> None:
        """One utterance: what was said (None: none of the phrases) and what it was taken for."""
        self.decide_s.append(decide_s)
        if truth is None:
            self.intruders += 1
            self.accepted += heard is not None
        else:
            self.phrases += 1
            self.missed += heard is None
            self.wrong += heard is not None and heard != truth

    def rows(self) -> list[tuple[str, str]]:
        """Label and text of each measure."""
        return [
            ("missed", share(self.missed, self.phrases)),
            ("wrong phrase", share(self.wrong, self.phrases)),
            ("intruders accepted", share(self.accepted, self.intruders)),
            (
                "decision time",
                f"median {quantile(self.decide_s, 0.5):.3f} s, 95th percentile {quantile(self.decide_s, 0.95):.3f} s",
            ),
        ]
