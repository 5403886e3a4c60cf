"""What a student is shown of their rehearsals. When a step is due is FSRS's matter, but for critical lapses."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.rehearsal.judging import Rules
from companion.rehearsal.progress import Sitting, due, progress, weakest_first
from companion.session.findings import Judgement
from tests.commands import companion
from tests.rehearsal.test_judging import RIGHT, STRETCH
from tests.rehearsal.test_outcome import INSULIN, judged, without_ideas

BEGAN = datetime(2030, 1, 1, tzinfo=UTC)
NOW = BEGAN + timedelta(minutes=10)


def sitting(judgement: Judgement, days: int = 0) -> Sitting:
    return Sitting(INSULIN.id, BEGAN - timedelta(days=days), judgement)


def rehearsed(*texts: str) -> Judgement:
    return judged(INSULIN, *texts, rules=Rules(only=STRETCH))


def test_after_a_critical_lapse_the_step_is_due_now() -> None:
    """After ten critical lapses "Due now: nothing" had been told."""
    steps = progress(INSULIN, [sitting(rehearsed(*RIGHT[:2], RIGHT[3]))])
    assert [step.step for step in due(steps, NOW)] == ["wipe-stopper"]
    again = progress(INSULIN, [sitting(rehearsed(*RIGHT[:2], RIGHT[3]), days=1), sitting(rehearsed(*RIGHT))])
    assert due(again, NOW) == [], "once it went well, it is due when FSRS says"


def test_the_weakest_comes_first() -> None:
    earlier, later = rehearsed(*RIGHT[:2], RIGHT[3]), rehearsed(RIGHT[0], RIGHT[1], RIGHT[3])
    steps = weakest_first(
        progress(INSULIN, [sitting(earlier, days=2), sitting(rehearsed(*RIGHT[1:]), 1), sitting(later)])
    )
    assert [step.step for step in steps] == [
        "wipe-stopper", "hands-before-preparing", "label-first", "stopper-dry"
    ]  # fmt: skip


def test_a_step_that_cannot_be_recognised_counts_for_nothing() -> None:
    judgement = judged(without_ideas(["label-first"]), *RIGHT, rules=Rules(only=STRETCH))
    went = {step.step: step.went for step in progress(INSULIN, [sitting(judgement)])}
    assert went["label-first"] == () and went["wipe-stopper"] == ("well",)


def test_the_summary_comes_first_and_all_of_it_fits_a_screen(tmp_path: Path) -> None:
    """24 lines of 80 columns: the usual terminal (from memory)."""

    def run(*words: str, text: str = "") -> list[str]:
        done = companion(*words, home=tmp_path, typed=text, COLUMNS="80")
        assert done.returncode == 0, done.stderr
        return done.stdout.splitlines()

    run("rehearse", "subcutaneous-insulin", "--keyboard", "--silent", text="\n".join((*RIGHT, "done")))
    lines = run("progress")
    assert sum(-(-len(line) // 80) for line in lines) < 24, "with the line that is typed next"
    assert max(map(len, lines[2:])) <= 80
    assert lines[1].startswith("Due now: ") and "steps: " in lines[1] and " more" in lines[1]
    assert lines[2].startswith("Drill:   companion rehearse subcutaneous-insulin --only weak")
    assert "omitted" in lines[6] and not any("well" in line for line in lines[6:18])
    assert "are shown by --all" in lines[-1]
    assert len(run("progress", "--all")) > len(INSULIN.steps)
