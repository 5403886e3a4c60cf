"""A rehearsal judged: what was left out, out of order, too short, wrong, and what to practise first."""

from companion.rehearsal.judging.judge import Heeded, Hint, Rules, judge

__all__ = ["Heeded", "Hint", "Rules", "judge"]
