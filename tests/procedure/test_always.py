"""Names in the rules that must always hold, and what `companion check` says of rules."""

from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.procedure.loading import load_text
from tests.commands import inside

PRICK = Path(__file__).parents[1] / "data" / "prick.yaml"
LAST = len(PRICK.read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        (
            "{kind: never without, step: prik, needs: [identify], because: Made up.}",
            "the step `prik` does not exist; accepted: the id of a step",
        ),
        (
            "{kind: never ends without, after: prick, needs: [[sharps, shaprs]], because: Made up.}",
            "the step `shaprs` does not exist; accepted: the id of a step",
        ),
        (
            "{kind: never without, step: prick, needs: [prick], because: Made up.}",
            "the rule asks `prick` for itself; accepted: another step",
        ),
        (
            "{kind: always open, branch: emergncy, because: Made up.}",
            "the branch `emergncy` does not exist; accepted: `wrong-person`, `start-over`, `faint`, `emergency`",
        ),
        (
            "{kind: always open, branch: start-over, because: Made up.}",
            "no word takes the branch `start-over`; accepted: a branch with `heard`",
        ),
        (
            "{kind: never without, step: prick, needs: identify, because: Made up.}",
            "`needs` is `identify`; accepted: a list, each entry on a line of its own after `- `",
        ),
        (
            "{kind: never without, step: prick, needs: [identify]}",
            "the key `because` is missing; needed here: kind, step, needs, because",
        ),
        (
            "{kind: never, step: prick, needs: [identify], because: Made up.}",
            "`kind` is `never`; accepted: `never without`, `never ends without`, `never left without`, `always open`",
        ),
    ],
)
def test_a_rule_that_names_what_is_not_there_is_a_fault_with_its_line(rule: str, fault: str) -> None:
    with pytest.raises(ProcedureError) as refused:
        load_text(PRICK.read_text(encoding="utf-8") + f"  - {rule}\n", "prick.yaml")
    assert refused.value.faults == [f"prick.yaml:{LAST + 1}: rule 5 of `always`: {fault}"]


def test_check_says_how_many_rules_it_proved() -> None:
    code, said = inside("check", str(PRICK))
    assert code == 0 and "no faults (14 steps, 4 branches; 4 rules proved in " in said, said


def test_check_shows_the_way_on_which_a_rule_is_broken(tmp_path: Path) -> None:
    path = tmp_path / "lax.yaml"
    text = PRICK.read_text(encoding="utf-8")
    path.write_text(text.replace("replies: [lancet is away], critical: yes", "replies: [lancet is away]"), "utf-8")
    line = 1 + text[: text.index("  - kind: never ends without")].count("\n")
    code, said = inside("check", str(path))
    assert code == 1
    lines = said.splitlines()
    assert lines[0].startswith(
        f"{path}:{line}: rule 2 of `always`: it does not hold that after `prick` the session never"
    )
    assert '    at `sharps`: "leave it out"' in lines
    broken = "the session ends (finished), and `sharps` or `safe` or `used-away` was not confirmed after `prick`."
    assert f"    broken: {broken}" in lines
