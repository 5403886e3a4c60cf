"""The transcripts are what they say they are: the marking fits the procedure, and the kind fits the marking."""

from collections import Counter
from functools import cache
from pathlib import Path

import pytest
import yaml
from pydantic import BaseModel, ConfigDict, Field

from companion.procedure.due import is_due
from companion.procedure.loading.finding import find
from companion.procedure.loading.loader import load
from companion.procedure.model import Procedure
from companion.procedure.order import Violation, violations
from tests.rehearsals import FOLDER as REHEARSALS
from tests.rehearsals import SETS

KINDS = ("complete", "omission", "order", "chatter", "correction")
PROCEDURES = ("subcutaneous-insulin", "capillary-glucose", "vaccine-deltoid")
FILES = sorted(path for name in SETS for path in (REHEARSALS / name).glob("*/*.yaml"))
SPEAKERS = {"development": 14, "second": 7, "third": 7, "held-out": 7}
"""How many in each set, for each procedure."""
LATER = {
    "subcutaneous-insulin": frozenset(
        {"last-dose", "glucose-age", "label-kind", "mix", "syringe-scale", "drawn", "checker-kind"}
    ),
    "vaccine-deltoid": frozenset({"ordered-vaccine"}),
}
"""Steps that came into a procedure after its talks were written: few talks say them, and none was expected to."""


class Utterance(BaseModel):
    """What was said in one go, and the steps it verbalised, in the order said."""

    model_config = ConfigDict(extra="forbid")
    text: str = Field(min_length=1)
    steps: tuple[str, ...]


class Transcript(BaseModel):
    """One speaker's rehearsal."""

    model_config = ConfigDict(extra="forbid")
    procedure: str
    speaker: str = Field(pattern=r"^[sh]\d\d$")
    kind: str
    said: tuple[Utterance, ...] = Field(min_length=1)
    omitted: tuple[str, ...]

    @property
    def sequence(self) -> list[str]:
        """All steps verbalised, in the order said."""
        return [step for utterance in self.said for step in utterance.steps]

    @property
    def left_out(self) -> frozenset[str]:
        """What is never said of the steps that there were when the talk was written."""
        return frozenset(self.omitted) - LATER.get(self.procedure, frozenset())


@cache
def _read(path: Path) -> Transcript:
    return Transcript.model_validate(yaml.safe_load(path.read_text(encoding="utf-8")))


@cache
def _procedure(name: str) -> Procedure:
    return load(find(name)).procedure


def _main(name: str) -> list[str]:
    """The main steps that are due by the procedure's own settings."""
    found = _procedure(name)
    return [step.id for step in found.steps if is_due(found, {}, step) is not False]


def _late(transcript: Transcript) -> list[Violation]:
    """Where a step was said before one it needs; steps never said are another matter."""
    return [found for found in violations(_procedure(transcript.procedure), transcript.sequence) if found.late]


def _label(path: Path) -> str:
    return str(path.relative_to(REHEARSALS).with_suffix(""))


@pytest.mark.parametrize("path", FILES, ids=_label)
def test_the_marking_fits_the_procedure(path: Path) -> None:
    transcript = _read(path)
    steps = _main(transcript.procedure)
    assert transcript.procedure == path.parent.name
    assert path.stem == f"{transcript.speaker}-{transcript.kind}"
    assert set(transcript.sequence) <= set(steps)
    assert sorted(transcript.omitted) == sorted(set(steps) - set(transcript.sequence))


@pytest.mark.parametrize("path", FILES, ids=_label)
def test_the_kind_fits_the_marking(path: Path) -> None:
    transcript = _read(path)
    steps = _main(transcript.procedure)
    first = list(dict.fromkeys(transcript.sequence))
    assert transcript.kind in KINDS
    if transcript.kind == "complete":
        assert not transcript.left_out
    if transcript.kind == "omission":
        assert transcript.left_out
    if transcript.kind == "order":
        assert first != [step for step in steps if step in first]
    if transcript.kind == "chatter":
        assert sum(not utterance.steps for utterance in transcript.said) >= 5


def _of(name: str, procedure: str) -> list[Transcript]:
    return [_read(path) for path in FILES if path.parent.parent.name == name and path.parent.name == procedure]


def _critical_omitted(transcripts: list[Transcript]) -> int:
    return sum(
        step.critical and step.id in transcript.left_out
        for transcript in transcripts
        for step in _procedure(transcript.procedure).steps
    )


@pytest.mark.parametrize("path", FILES, ids=_label)
def test_only_files_of_kind_order_break_the_order(path: Path) -> None:
    transcript = _read(path)
    assert transcript.kind == "order" or not _late(transcript)


@pytest.mark.parametrize("procedure", PROCEDURES)
@pytest.mark.parametrize("name", SETS)
def test_a_set_is_large_and_balanced(name: str, procedure: str) -> None:
    transcripts = _of(name, procedure)
    speakers = Counter(transcript.speaker for transcript in transcripts)
    assert len(speakers) == SPEAKERS[name]
    assert set(speakers.values()) == {3}
    kinds = Counter(transcript.kind for transcript in transcripts)
    assert kinds["complete"] == len(speakers)
    others = [kinds[kind] for kind in KINDS if kind != "complete"]
    assert min(others) >= len(speakers) // 2


@pytest.mark.parametrize("procedure", PROCEDURES)
def test_no_speaker_stands_in_two_sets(procedure: str) -> None:
    speakers = [{transcript.speaker for transcript in _of(name, procedure)} for name in SETS]
    assert len(set.union(*speakers)) == sum(len(each) for each in speakers)


@pytest.mark.parametrize("procedure", PROCEDURES)
@pytest.mark.parametrize(
    ("name", "omitted", "broken", "whole"), [("development", 30, 4, 1), ("third", 25, 2, 0), ("held-out", 25, 2, 0)]
)
def test_critical_omissions_and_swaps_are_planted(
    name: str, omitted: int, broken: int, whole: int, procedure: str
) -> None:
    transcripts = _of(name, procedure)
    assert _critical_omitted(transcripts) >= omitted
    swapped = [bool(_late(transcript)) for transcript in transcripts if transcript.kind == "order"]
    assert swapped.count(True) >= broken
    assert swapped.count(False) >= whole


def test_held_out_omissions_are_many_and_both_sorts_of_swaps_occur() -> None:
    """The figure of omissions found needs some seventy of them to mean anything beside the other sets."""
    transcripts = [transcript for procedure in PROCEDURES for transcript in _of("held-out", procedure)]
    assert _critical_omitted([each for each in transcripts if each.kind == "omission"]) >= 70
    orders = [each for each in transcripts if each.kind == "order"]
    assert not any(each.left_out for each in orders)
    assert {bool(_late(each)) for each in orders} == {True, False}


@pytest.mark.parametrize("procedure", PROCEDURES)
def test_no_two_files_share_many_sentences(procedure: str) -> None:
    """Variety of language is what the sets are for: a speaker's files are reworded, not copied."""
    texts = [{u.text for u in _read(path).said} for path in FILES if path.parent.name == procedure]
    for number, one in enumerate(texts):
        for other in texts[number + 1 :]:
            assert len(one & other) <= 0.25 * min(len(one), len(other))
