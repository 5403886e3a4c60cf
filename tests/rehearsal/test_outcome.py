"""The one word for how a rehearsal went. What cannot be judged is never passed; nor is who said nothing.

That an examiner passes nobody for what could not be observed is common practice, from memory.
"""

import json
import subprocess
from collections.abc import Callable, Collection
from pathlib import Path

import pytest
import yaml

from companion.procedure.model import Procedure
from companion.record.reader import read_record
from companion.rehearsal.judging import Rules, judge
from companion.rehearsal.judging.debrief import summary
from companion.rehearsal.judging.expected import expected_steps
from companion.session.findings import Heard, Judgement, judgement_from_json, judgement_to_json
from tests.commands import KEYBOARD, companion
from tests.rehearsal.test_judging import RIGHT, STRETCH
from tests.rehearsals import ROOT, procedure

INSULIN = procedure("subcutaneous-insulin")
EVERY_HELP = ("none", "headings", "full")


def without_ideas(steps: Collection[str]) -> Procedure:
    """The procedure, in which the ideas of `steps` are missing, as in a file whose author knew of none."""
    kept = [step.model_copy(update={"ideas": ()}) if step.id in steps else step for step in INSULIN.steps]
    return INSULIN.model_copy(update={"steps": tuple(kept)})


def judged(procedure: Procedure, *texts: str, rules: Rules) -> Judgement:
    heard = [Heard(text=text, at_ms=n * 3000, until_ms=n * 3000 + 2000, n=n) for n, text in enumerate(texts)]
    return judge(procedure, heard, rules, took_ms=len(texts) * 3000)


@pytest.mark.parametrize("must_pass", [True, False])
@pytest.mark.parametrize("texts", [(), ("hello there",), RIGHT])
def test_a_file_of_which_no_step_can_be_recognised_is_not_judged(texts: tuple[str, ...], must_pass: bool) -> None:
    judgement = judged(without_ideas(STRETCH), *texts, rules=Rules(only=STRETCH, must_pass=must_pass))
    assert judgement.outcome == "not judged"
    assert not judgement.passed and not judgement.undecided
    assert judgement.unrecognisable == STRETCH
    told = summary(judgement)
    assert told.startswith("This rehearsal is not judged: ")
    assert "Well done" not in told and "plainer words" not in told and "missed" not in told
    assert judgement.practise == ()


def test_one_critical_step_that_cannot_be_recognised_keeps_it_from_being_judged_and_the_rest_is_told() -> None:
    judgement = judged(without_ideas(["label-first"]), RIGHT[0], RIGHT[3], rules=Rules(only=STRETCH))
    assert judgement.outcome == "not judged"
    assert INSULIN.step("label-first").title in judgement.not_judged
    assert [finding.kind for finding in judgement.of("wipe-stopper")] == ["omitted"]
    assert "You said 2 of 3 steps that can be recognised" in summary(judgement)


def test_a_step_that_is_not_critical_and_cannot_be_recognised_is_left_out_of_the_judgement() -> None:
    plain = next(step.id for step in INSULIN.steps if not step.critical and step.ideas)
    only = tuple(step.id for step in INSULIN.steps if step.id in (plain, *STRETCH))
    judgement = judged(without_ideas([plain]), *RIGHT, rules=Rules(only=only))
    assert judgement.outcome == "passed" and judgement.unrecognisable == (plain,)
    assert [finding.kind for finding in judgement.of(plain)] == ["unclear"]
    assert "You said all 4 steps that can be recognised" in summary(judgement)


@pytest.mark.parametrize("level", EVERY_HELP)
@pytest.mark.parametrize("must_pass", [True, False])
@pytest.mark.parametrize("texts", [(), ("hello there",)])
def test_who_said_no_step_never_passes(texts: tuple[str, ...], must_pass: bool, level: str) -> None:
    rules = Rules(help=level, only=STRETCH, must_pass=must_pass)  # type: ignore[arg-type]
    judgement = judged(INSULIN, *texts, rules=rules)
    assert judgement.outcome == "not passed" and not judgement.passed
    assert "You said none of the 4 steps, so this is not passed." in summary(judgement)
    assert "Well done" not in summary(judgement)


def test_where_no_step_is_critical_silence_is_not_passed_either() -> None:
    plain = tuple(step.id for step in INSULIN.steps if not step.critical and step.ideas)[:2]
    assert judged(INSULIN, rules=Rules(only=plain)).outcome == "not passed"


def test_a_judgement_of_before_is_read_with_nothing_unrecognisable() -> None:
    body = judgement_to_json(judged(INSULIN, *RIGHT, rules=Rules(only=STRETCH)))
    del body["not_judged"], body["unrecognisable"]
    older = judgement_from_json(json.loads(json.dumps(body | {"version": 2})))
    assert older.outcome == "passed" and older.unrecognisable == ()


@pytest.fixture
def rehearse(tmp_path: Path) -> Callable[..., subprocess.CompletedProcess[str]]:
    """`companion rehearse`, typed, of a file; its record goes to `tmp_path`."""

    def run(file: Path, *words: str, text: str) -> subprocess.CompletedProcess[str]:
        folder = ("--records", str(tmp_path))
        return companion("rehearse", str(file), *KEYBOARD, *folder, *words, home=tmp_path / "home", typed=text)

    return run


def stripped(folder: Path, name: str) -> Path:
    """A file of the library without its ideas."""
    body = yaml.safe_load((ROOT / "procedures" / f"{name}.yaml").read_text(encoding="utf-8"))
    for step in body["steps"]:
        step.pop("ideas", None)
    path = folder / f"{name}.yaml"
    path.write_text(yaml.safe_dump(body, sort_keys=False), encoding="utf-8")
    return path


def test_the_command_says_before_it_begins_that_it_cannot_be_judged_and_why(
    rehearse: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    """A student who said "hello there" to such a file was told "Nothing critical was missed", and had passed."""
    done = rehearse(stripped(tmp_path, "hand-hygiene"), text="hello there\nthat is all\n")
    assert done.returncode == 0, done.stderr
    shown = " ".join(done.stdout.split())
    warned, heard = shown.index("This rehearsal cannot be judged"), shown.index("hello there")
    assert warned < heard
    assert "Well done" not in shown and "Outcome: not judged" in shown
    assert "without `ideas` nobody can tell when these steps are said" in shown
    (path,) = tmp_path.glob("*.jsonl")
    record = read_record(path)
    (begun,) = [entry.body for entry in record.entries if entry.kind == "rehearsal"]
    assert any("cannot be judged" in text for text in begun["says"])
    assert begun["unrecognisable"] == list(expected_steps(procedure("hand-hygiene"), (), {}))
    assert record.entries[-1].body["outcome"] == "not judged"
    page = next(tmp_path.glob("*.rehearsal.html")).read_text(encoding="utf-8")
    assert "This rehearsal is not judged" in page and "Well done" not in page
