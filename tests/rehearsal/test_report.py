"""The page and the words that a student is left with: what went well first, red for faults only, no word broken.

What helps a learner (what went well, then a few things to practise) is common practice of debriefing, from memory.
"""

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

from companion.rehearsal.judging import Rules
from companion.rehearsal.judging.debrief import LONGEST_S, practise, summary
from companion.rehearsal.report import to_report
from companion.session.findings import Finding, Judgement
from companion.speech.language import seconds_to_say
from companion.speech.sentences import sentence
from tests.rehearsal.test_judging import RIGHT, STRETCH, told
from tests.rehearsal.test_outcome import INSULIN, judged
from tests.rehearsals import ROOT

LEFT_OUT = judged(INSULIN, *RIGHT[:2], RIGHT[3], rules=Rules(only=STRETCH))


def page(judgement: Judgement) -> str:
    return to_report(INSULIN, judgement, "2030-01-01").decode()


def test_what_went_well_comes_first_and_is_true() -> None:
    spoken, shown = summary(LEFT_OUT), page(LEFT_OUT)
    praise = "3 critical steps were right: "
    assert praise in spoken
    assert spoken.index(praise) < spoken.index("has to be right") < spoken.index("To practise first")
    assert shown.index("What went well") < shown.index("To practise first") < shown.index("In which order")
    well = shown[shown.index("What went well") : shown.index("To practise first")]
    titles = [INSULIN.step(step).title for step in STRETCH]
    assert [title for title in titles if f"<li>{title}</li>" in well] == [*titles[:2], titles[3]]


def test_nobody_is_praised_for_what_was_at_fault() -> None:
    judgement = judged(INSULIN, "I clean my hands for five seconds", rules=Rules(only=STRETCH))
    assert "right:" not in summary(judgement) and "as it should be:" not in summary(judgement)
    assert "What went well" not in page(judgement)


def test_red_is_for_faults_only() -> None:
    """Red bars had stood beside every critical row, those that were as they should be too."""
    shown = page(LEFT_OUT)
    table = shown[shown.index("<table>") : shown.index("</table>")]
    red = re.findall(r'<tr class="critical">.*?</tr>', table)
    assert len(red) == 1 and INSULIN.step("wipe-stopper").title in red[0]
    assert "A red bar marks a critical fault." in shown


def test_how_many_are_in_doubt_is_told_after_what_to_practise() -> None:
    _, judgement = told("that too", 9.0)
    spoken, shown = summary(judgement), page(judgement)
    assert judgement.practise
    assert spoken.index("To practise first") < spoken.index("One point was not surely heard")
    assert shown.index("To practise first") < shown.index("<h2>In doubt</h2>") < shown.index("In which order")


def test_doubt_is_told_however_much_there_is_to_practise() -> None:
    _, judgement = told("that too", 9.0)
    long = tuple("Say it aloud every time, " + "for it matters " * 12 for _ in range(3))
    spoken = summary(judgement.model_copy(update={"practise": long}))
    assert "One point was not surely heard" in spoken
    assert seconds_to_say(spoken, "en") <= LONGEST_S


@pytest.mark.parametrize(
    ("text", "made"),
    [("First.", "First."), ("First..", "First."), ("first", "first."), ("Who?", "Who?"), ("Stop!", "Stop!")],
)
def test_a_sentence_ends_once(text: str, made: str) -> None:
    assert sentence(text) == made


def test_no_two_dots_whatever_the_file_writes() -> None:
    effect = "It would be wrong."
    finding = Finding(kind="omitted", step=STRETCH[0], title="A title", reason="It was not said.", effect=effect)
    assert ".." not in " ".join(practise(INSULIN, [finding])) + summary(LEFT_OUT) + page(LEFT_OUT)


def test_no_word_is_broken_on_a_terminal(tmp_path: Path) -> None:
    """On a terminal of 60 columns "your own words" had been broken within "your"."""
    near, far = pty.openpty()
    command = [sys.executable, "-m", "companion", "rehearse", "hand-hygiene", "--keyboard", "--silent"]
    env = os.environ | {"COMPANION_HOME": str(tmp_path), "COLUMNS": "60", "TERM": "dumb"}
    process = subprocess.Popen([*command], stdin=subprocess.PIPE, stdout=far, stderr=far, cwd=ROOT, env=env)
    os.close(far)
    assert process.stdin is not None
    process.stdin.write(b"I look at my nails\nthat is all\n")
    process.stdin.close()
    said = b""
    try:
        while data := os.read(near, 4096):
            said += data
    except OSError:
        pass  # the far side was closed: the program has ended
    assert process.wait(60) == 0, said
    lines = said.decode().replace("\r", "").splitlines()
    told = [line for line in lines if str(tmp_path) not in line]
    assert max(map(len, told)) < 60
    assert "in your own words" in " ".join(" ".join(told).split())
