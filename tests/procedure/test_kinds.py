"""What a kind of step must not forget to tell: common practice of this house, since what is not told is not checked."""

from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Turn
from companion.procedure.loading import load
from companion.procedure.proofreading.placed import sites
from companion.procedure.proofreading.said import branches_taken
from companion.procedure.proving.reach import Reach
from companion.session.state import State
from companion.session.timers import For
from tests.procedure.broken import broken

ROOT = Path(__file__).parents[2]
DRILLS = [ROOT / "tests" / "data" / name for name in ("drill.yaml", "second-look.yaml")]
FILES = [*DRILLS, ROOT / "tests" / "data" / "whole.yaml", *sorted((ROOT / "procedures").glob("*.yaml"))]


def test_every_kind_is_drilled() -> None:
    """The properties that always hold are tried on these two files."""
    assert {step.kind for path in DRILLS for step in load(path).procedure.all_steps()} == KINDS.keys()


def test_a_file_that_names_none_is_told_every_kind(tmp_path: Path) -> None:
    with pytest.raises(ProcedureError, match=", ".join(f"`{name}`" for name in KINDS)):
        load(broken("missing-kind", tmp_path))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_step_tells_of_each_branch_that_stands_in_it(path: Path) -> None:
    """Kinds were listed by hand where branches are proofread: one that was added could have been left out."""
    procedure = load(path).procedure
    branches, named = {branch.id for branch in procedure.branches}, Reach(procedure).named
    for site in sites(procedure):
        assert {name for name, _ in branches_taken(site)} == named[site.step.id] & branches, site.step.id


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_step_with_rounds_says_so_and_counts_them(path: Path) -> None:
    procedure = load(path).procedure
    for step in procedure.all_steps():
        assert getattr(step, "every", None) == step.rounds, step.id
        timers = KINDS[step.kind].timers(Turn(procedure, State(), step, 0))
        assert any(timer.what is For.ROUND for timer in timers) == (step.rounds is not None), step.id
