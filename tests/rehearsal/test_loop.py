"""A rehearsal from its first word to its signed record: typed, and with real audio through the real dictation."""

import json
import subprocess
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
import yaml

from companion.clocks import SimulatedClock
from companion.conversation.room import Room
from companion.meaning.ideas import ideas_of
from companion.meaning.mentions import mentions
from companion.meaning.reader.fetched import MODEL, open_reader
from companion.meaning.sense import senses
from companion.models.catalogue import find as find_model
from companion.models.catalogue import installed
from companion.procedure.kinds.base import Say
from companion.record.keys import own_key
from companion.record.privacy import talk_held_back
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.rehearsal.cues import opening
from companion.rehearsal.judging import Rules
from companion.rehearsal.rehearsal import Rehearsal
from companion.session.findings import JUDGED, Heard, judgement_from_json
from companion.voice.text_voice import TextVoice
from tests import commands
from tests.realparts import need
from tests.rehearsals import ROOT, procedure

INSULIN = procedure("subcutaneous-insulin")
TEXT = (ROOT / "procedures" / "subcutaneous-insulin.yaml").read_text(encoding="utf-8")
STRETCH = ("hands-before-preparing", "label-first", "wipe-stopper", "stopper-dry")


class Lines:
    """Typed lines, one each turn."""

    interrupts = True

    def __init__(self, *lines: str) -> None:
        self._lines = list(lines)

    def poll(self) -> list[str]:
        return [self._lines.pop(0)] if self._lines else []

    def hide(self, hidden: bool) -> None:
        """Nothing is hidden in a rehearsal."""

    @property
    def ended(self) -> bool:
        return not self._lines


class Seen:
    """Remembers what was said by the program."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def says(self, say: Say) -> None:
        self.texts.append(say.text)

    def heard(self, phrase: str, by: str) -> None:
        """Not needed."""

    def missed(self, reason: str) -> None:
        """Not needed."""

    def listening(self, phrases: Sequence[str]) -> None:
        """Not needed."""

    def notice(self, text: str) -> None:
        self.texts.append(text)


def rehearse(folder: Path, level: str, *lines: str) -> tuple[Path, list[str]]:
    """A typed rehearsal of the stretch; its closed record and what the program said."""
    clock, seen = SimulatedClock(datetime(2030, 1, 1, tzinfo=UTC)), Seen()
    opened = {"procedure_id": INSULIN.id, "procedure_text": TEXT, "settings": {}, "mode": "rehearsal"}
    writer = RecordWriter.create(folder, opened, clock, own_key(folder / "keys"))
    rules = Rules(only=STRETCH, help=level)  # type: ignore[arg-type]
    rehearsal = Rehearsal(INSULIN, rules, Room(clock, TextVoice(clock), seen, Lines(*lines)), writer)
    judgement = rehearsal.run("12")
    writer.finish(judgement.outcome, rehearsal.now_ms())
    writer.close()
    return writer.path, seen.texts


WHOLE = (
    "I clean my hands for thirty seconds",
    "I compare the label with the order",
    "I scrub the stopper with alcohol",
    "I let the stopper dry for thirty seconds",
)


def test_the_record_holds_what_was_heard_and_judged_signed_and_whole(tmp_path: Path) -> None:
    path, _ = rehearse(tmp_path, "none", *WHOLE, "that is all")
    record = read_record(path)
    assert record.closed
    kinds = [entry.kind for entry in record.entries]
    assert kinds == ["opened", "rehearsal", *["utterance"] * 4, JUDGED, "closed"]
    assert [entry.body["steps"] for entry in record.entries if entry.kind == "utterance"] == [[s] for s in STRETCH]
    judgement = judgement_from_json(record.entries[-2].body)
    assert judgement.passed
    assert judgement.performer == "12"
    assert [mark.heard.text for mark in judgement.marks] == list(WHOLE)


def test_from_memory_nothing_is_said_between_the_opening_and_the_summary(tmp_path: Path) -> None:
    _, texts = rehearse(tmp_path, "none", *WHOLE)
    assert len(texts) == 2
    assert texts[0] == opening(INSULIN, "none", 4)


def test_headings_come_one_after_the_other_and_a_hint_when_asked(tmp_path: Path) -> None:
    _, texts = rehearse(tmp_path, "headings", WHOLE[0], WHOLE[1], "give me a hint", "hint", *WHOLE[2:])
    titles = [f"{INSULIN.step(step).title}." for step in STRETCH]
    assert [text for text in texts if text in titles] == titles
    hints = [text for text in texts if text.startswith("Next: ") or text == INSULIN.step("wipe-stopper").say]
    assert hints == ["Next: Wipe the stopper.", INSULIN.step("wipe-stopper").say]


def test_every_step_prompted(tmp_path: Path) -> None:
    _, texts = rehearse(tmp_path, "full", *WHOLE)
    assert [text for text in texts if text in [INSULIN.step(step).say for step in STRETCH]] == [
        INSULIN.step(step).say for step in STRETCH
    ]


def test_talk_of_a_date_of_birth_is_kept_and_a_date_of_birth_is_not(tmp_path: Path) -> None:
    today = date(2030, 1, 1)
    said = "I ask the patient for name and date of birth"
    assert talk_held_back(said, today) == said
    assert "1961" not in talk_held_back("your date of birth is 4 May 1961", today)
    path, _ = rehearse(tmp_path, "none", "her date of birth is 4 May 1961")
    assert b"1961" not in path.read_bytes().split(b'"kind":"opened"', 1)[1].split(b"\n", 1)[1]


def test_a_name_is_not_kept_and_the_step_said_beside_it_is_noted(tmp_path: Path) -> None:
    """A whole utterance was held back with the name in it, and with it the deeds that were told in other sentences."""
    path, _ = rehearse(tmp_path, "none", "Thanks, Margaret. I wipe the stopper of the vial.", "tell mrs okafor")
    (first, second) = [e.body for e in read_record(path).entries if e.kind == "utterance"]
    assert first["text"] == "[held back: it looks like a name] I wipe the stopper of the vial."
    assert "wipe-stopper" in first["steps"]
    assert (second["text"], second["steps"]) == ("[held back: it looks like a name]", [])


def test_the_note_in_place_of_words_says_no_step() -> None:
    """ "held back: it" was once noted as the step that holds a cannula in place."""
    for each in sorted((ROOT / "procedures").glob("*.yaml")):
        ideas = ideas_of(procedure(each.stem))
        for what in ("a name", "a date of birth", "a postal address", "a number that stands for a person"):
            heard = Heard(text=f"[held back: it looks like {what}]", at_ms=0, until_ms=1, n=0)
            assert mentions(ideas, heard) == [] and senses(ideas, [heard]) == []


@pytest.fixture
def companion(tmp_path: Path) -> Callable[..., subprocess.CompletedProcess[str]]:
    """The command line with a home of its own, and the machine's own models."""
    from companion import places

    env = {"COMPANION_MODELS": str(places.models())}

    def run(*words: str, text: str = "", **more: str) -> subprocess.CompletedProcess[str]:
        return commands.companion(*words, home=tmp_path / "home", typed=text, **env | more)

    return run


def test_the_command_typed_with_a_report_and_progress(
    companion: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    only = ["--only", "hands-before-preparing,label-first,wipe-stopper,stopper-dry"]
    lines = "\n".join((*WHOLE[:2], WHOLE[3], "that is all"))
    done = companion(
        "rehearse",
        "subcutaneous-insulin",
        "--help",
        "none",
        *only,
        "--keyboard",
        "--silent",
        "--student",
        "12",
        text=lines,
    )
    assert done.returncode == 0, done.stderr
    assert "! Wipe the stopper: it was not said." in done.stdout
    (report,) = (tmp_path / "home" / "records").glob("*.jsonl.rehearsal.html")
    page = report.read_text(encoding="utf-8")
    assert "<script" not in page and "http:" not in page and "https:" not in page
    assert "<svg" in page and "not said: Wipe the stopper" in page and WHOLE[0] in page
    told = companion("progress", "--student", "12")
    assert told.returncode == 0, told.stderr
    assert "omitted" in told.stdout and "--only weak" in told.stdout
    (record,) = (tmp_path / "home" / "records").glob("*.jsonl")
    refused = companion("resume", str(record))
    assert refused.returncode == 1
    assert "is not gone on with" in refused.stderr
    drill = companion(
        "rehearse", "subcutaneous-insulin", "--only", "weak", "--keyboard", "--silent", "--student", "12", text=WHOLE[2]
    )
    assert drill.returncode == 0, drill.stderr
    assert "2 steps" in drill.stdout, "the step left out, and the one before it"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["rehearse", "subcutaneous-insulin", "--help", "some"], "accepted: full, headings, none"),
        (["rehearse", "subcutaneous-insulin", "--only", "hands"], "`hands` is no main step"),
        (["rehearse", "subcutaneous-insulin", "--student", "Jane"], "a tag of two or three digits"),
        (["rehearse", "subcutaneous-insulin", "--right", "inject=4"], "no reading of"),
        (["rehearse", "subcutaneous-insulin", "--only", "weak"], "nothing of this procedure went wrong"),
        (["progress"], "no judged rehearsal"),
    ],
)
def test_wrong_words_get_one_sentence(
    companion: Callable[..., subprocess.CompletedProcess[str]], words: list[str], told: str
) -> None:
    done = companion(*words)
    assert done.returncode == 1
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_help_alone_explains_the_command(companion: Callable[..., subprocess.CompletedProcess[str]]) -> None:
    for word in ("--help", "-h"):
        done = companion("rehearse", word)
        assert done.returncode == 0
        assert "in your own words" in " ".join(done.stdout.split())


def test_without_the_model_one_sentence_and_typing(
    companion: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    done = companion(
        "rehearse", "subcutaneous-insulin", "--silent", text=WHOLE[0], COMPANION_MODELS=str(tmp_path / "none")
    )
    assert done.returncode == 0, done.stderr
    assert "companion models fetch scorer" in done.stdout
    assert "companion models fetch reader" in done.stdout
    assert "Outcome: not passed" in done.stdout


def test_the_record_says_which_reader_took_part(
    companion: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    need(installed(find_model(MODEL)) is not None, f"the reader's model: companion models fetch {MODEL}")
    done = companion("rehearse", "subcutaneous-insulin", "--silent", "--keyboard", text=WHOLE[0])
    assert done.returncode == 0, done.stderr
    assert "models fetch" not in done.stdout
    (record,) = (tmp_path / "home" / "records").glob("*.jsonl")
    entries = [json.loads(line) for line in record.read_text(encoding="utf-8").splitlines()]
    (begun,) = [entry["body"] for entry in entries if entry["kind"] == "rehearsal"]
    reader, _ = open_reader(INSULIN)
    assert reader is not None
    assert begun["reader"] == reader.name


def test_real_speech_through_the_real_dictation(
    companion: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    """Four sentences and the end by flite's voice slt, heard by the model that students are heard by."""
    from tests.bench.hearing_voices import say

    need(installed(find_model("scorer")) is not None, "the scorer's model: companion models fetch scorer")
    try:
        sounds = {text: say(text, "slt") for text in (*WHOLE[:2], *WHOLE[3:], "that is all")}
    except RuntimeError as fault:
        need(False, str(fault))
    import soundfile

    script: dict[str, Any] = {"about": "invented", "start": "2030-01-01T10:00:00Z", "lines": []}
    from companion.conversation.scenario import Line

    for text, sound in sounds.items():
        line = Line(text=text, voice="slt")
        soundfile.write(tmp_path / line.file_name(), sound, 16000)
        script["lines"].append({"text": text, "voice": "slt"})
    path = tmp_path / "script.yaml"
    path.write_text(yaml.safe_dump(script), encoding="utf-8")
    done = companion("rehearse", "subcutaneous-insulin", "--only", ",".join(STRETCH), "--script", str(path))
    assert done.returncode == 0, done.stderr
    assert "! Wipe the stopper: it was not said." in done.stdout
    (record,) = (tmp_path / "home" / "records").glob("*.jsonl")
    entries = [json.loads(line) for line in record.read_text(encoding="utf-8").splitlines()]
    steps = [step for entry in entries if entry["kind"] == "utterance" for step in entry["body"]["steps"]]
    assert steps == [step for step in STRETCH if step != "wipe-stopper"]
    assert all(e["body"]["until_ms"] > e["body"]["from_ms"] > 0 for e in entries if e["kind"] == "utterance")
