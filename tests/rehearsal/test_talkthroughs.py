"""Every procedure of the library hears a whole talk-through, and does not take the one critical step that was
forgotten for said.

By words and ideas alone, and, for the procedures it was taught, with the model that reads. What counts as having said a
step is common practice of examiners; the talks are ours (`tests/data/talkthroughs`).
"""

from pathlib import Path
from typing import Any

import pytest
import yaml

from companion.meaning.reader.fetched import open_reader, taught
from companion.rehearsal.judging import Rules, judge
from companion.session.findings import Heard, Judgement
from tests.meaning.reader_parts import model_folder
from tests.rehearsals import ROOT, procedure

FOLDER = ROOT / "tests" / "data" / "talkthroughs"
TALKS = sorted(FOLDER.glob("*.yaml"))


def read(path: Path) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    body = yaml.safe_load(path.read_text(encoding="utf-8"))
    return body, [next(iter(line.items())) for line in body["said"]]


def judged(name: str, texts: list[str], reads: bool) -> Judgement:
    heard = [Heard(text=text, at_ms=n * 9000, until_ms=n * 9000 + 8000, n=n) for n, text in enumerate(texts)]
    reader = None
    if reads:
        model_folder()
        reader, _ = open_reader(procedure(name))
    return judge(procedure(name), heard, Rules(), took_ms=len(texts) * 9000, reader=reader)


CASES = [
    pytest.param(path, reads, id=path.stem + ("-read" if reads else ""))
    for path in TALKS
    for reads in (False, True)
    if not reads or path.stem in taught()
]


def omitted(judgement: Judgement) -> list[str]:
    return [finding.step for finding in judgement.findings if finding.kind == "omitted"]


def test_every_procedure_of_the_library_has_one() -> None:
    assert [path.stem for path in TALKS] == sorted(path.stem for path in (ROOT / "procedures").glob("*.yaml"))


@pytest.mark.parametrize(("path", "reads"), CASES)
def test_a_whole_talk_is_heard_step_by_step_and_in_order(path: Path, reads: bool) -> None:
    body, said = read(path)
    steps, told = procedure(body["procedure"]).steps, [step for step, _ in said]
    assert told == [step.id for step in steps if step.when is None or step.id in told]
    judgement = judged(body["procedure"], [text for _, text in said], reads)
    assert omitted(judgement) == []
    # A step that came after the reader was taught is one it says nothing of: there the educator may have to decide.
    new = {step.id for step in steps} - set(taught()[path.stem]) if reads else set()
    sure = {mark.step: mark.heard.n for mark in judgement.marks if mark.step not in new}
    perhaps = {finding.step: finding.heard[0].n for finding in judgement.doubtful if finding.step not in new}
    assert sure | perhaps == {step: n for n, (step, _) in enumerate(said) if step not in new}
    assert len(perhaps) <= 2
    assert not [finding for finding in judgement.findings if finding.kind == "out of order"]


@pytest.mark.parametrize(("path", "reads"), CASES)
def test_the_critical_step_forgotten_is_found_and_no_other(path: Path, reads: bool) -> None:
    body, said = read(path)
    gone = body["taken out"]
    assert procedure(body["procedure"]).step(gone).critical
    judgement = judged(body["procedure"], [text for step, text in said if step != gone], reads)
    assert gone not in [mark.step for mark in judgement.marks]
    assert set(omitted(judgement)) <= {gone}
    assert not judgement.passed
