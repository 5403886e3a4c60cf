"""The loop, typed through on simulated time with a real record. The order of writing and speaking is the design's."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from companion.errors import RecordError, UsageError
from companion.ports.recogniser import Hearing
from companion.procedure.due import is_due
from companion.record.reader import read_record
from companion.review.timeline import timeline
from companion.session.events import Missed
from companion.voice.text_voice import TextVoice
from tests.conversation.rig import DRILL, WHOLE, Rig


def test_a_typed_session_is_signed_and_folds_back(tmp_path: Path) -> None:
    rig = Rig(tmp_path, WHOLE)
    rig.run()
    assert rig.session.state.status == "finished"
    rig.writer.finish("signed", rig.session.now_ms())
    rig.writer.close()
    record = read_record(rig.path)
    assert record.closed
    assert timeline(record).state == rig.session.state
    told = timeline(record)
    procedure, values = rig.loaded.procedure, told.state.values
    due = [step.id for step in procedure.steps if is_due(procedure, values, step) is not False]
    assert [step.step for step in told.confirmed] == due
    assert "Not yet" in " ".join(rig.screen.shown)


def test_every_event_is_durable_before_it_is_spoken(tmp_path: Path) -> None:
    rig = Rig(tmp_path, WHOLE)
    spoken: list[str] = []

    class Voice(TextVoice):
        def start(self, text: str, fault: str | None = None) -> Any:
            lines = rig.path.read_text(encoding="utf-8").splitlines()
            last = [say["text"] for line in lines for say in json.loads(line)["body"].get("says", [])]
            assert text in last, "spoken before it was in the file"
            spoken.append(text)
            return super().start(text, fault)

    rig.session._prompts._voice = Voice(rig.clock)
    rig.run()
    rig.writer.close()
    assert len(spoken) > 20


def test_the_first_figure_is_nowhere_before_the_second_is_in(tmp_path: Path) -> None:
    rig = Rig(tmp_path, WHOLE)
    rig.run()
    rig.writer.close()
    lines = rig.path.read_text(encoding="utf-8").splitlines()
    opened = next(n for n, line in enumerate(lines) if '"kind":"opened","second"' in line or '"first":"0.18"' in line)
    before = [json.loads(line) for line in lines[1:opened]]  # the first line is the procedure's own text
    assert len(before) > 10
    assert not any("0.18" in json.dumps(entry["body"]) for entry in before)
    agreed = next(n for n, text in enumerate(rig.screen.shown) if "Both figures agree" in text)
    assert not any("0.18" in text or "point one eight" in text for text in rig.screen.shown[:agreed])
    assert rig.typist.hidden_at == ["0.18 mL"] * 4, "typed figures are not echoed"


@pytest.mark.parametrize("verdict", ["unclear", "other"])
def test_what_a_hidden_figure_sounded_like_is_hidden_too(tmp_path: Path, verdict: Any) -> None:
    """Also where it was typed without its unit."""
    figure = "zero point one eight milliliters"
    rig = Rig(tmp_path, [*WHOLE[:11], "0.18"])
    with pytest.raises(UsageError):
        rig.run()
    rig.session._hear(Hearing(verdict, None, figure, 1.0, "test", f"it sounded like `{figure}`", 0.1))
    rig.writer.close()
    told = "\n".join([*rig.screen.shown, *rig.path.read_text(encoding="utf-8").splitlines()[1:]])
    assert "accepted: the figure with its unit" in told
    assert "0.18" not in told and "one eight" not in told


def test_five_figures_without_a_comma_are_taken_with_a_caution(tmp_path: Path) -> None:
    """ISMP list, 2021: large doses are miscounted without their commas."""
    drill = tmp_path / "drill.yaml"
    wide = DRILL.read_text(encoding="utf-8").replace("least: 1, most: 60}", "least: 0, most: 20000, by: 500}", 1)
    drill.write_text(wide, encoding="utf-8")
    rig = Rig(tmp_path, [*WHOLE[:8], "10000 units"], drill)
    with pytest.raises(UsageError):
        rig.run()
    rig.writer.close()
    caution = rig.screen.shown.index(
        "notice: `10000 units` has five figures without a comma; `10,000 units` is easier to read"
    )
    assert rig.screen.shown[caution + 1 :][0] == "key: ten thousand units"


def test_no_near_miss_is_kept_as_what_was_heard(tmp_path: Path) -> None:
    """Nobody may say `no dry`: a recogniser only compares with it."""
    rig = Rig(tmp_path, ["rub is in"])
    with pytest.raises(UsageError):
        rig.run()
    for nearest in ("no dry", "both hands dry"):
        rig.session._hear(Hearing("unclear", None, nearest, 1.0, "test", f"it sounded like `{nearest}`", 0.1))
    rig.writer.close()
    missed = [moment.event for moment in timeline(read_record(rig.path)).moments if isinstance(moment.event, Missed)]
    assert [event.nearest for event in missed] == [None, "both hands dry"]
    assert [event.reason for event in missed] == ["it was not clear enough", "it sounded like `both hands dry`"]


def test_a_wrong_word_is_answered_and_changes_nothing(tmp_path: Path) -> None:
    rig = Rig(tmp_path, ["gloves are on"])
    with pytest.raises(UsageError, match="the input ended before the session did"):
        rig.run()
    rig.writer.close()
    assert any("`gloves are on` is not a reply here; accepted: " in text for text in rig.screen.shown)
    assert not rig.session.state.done


def test_a_value_without_its_unit_is_refused(tmp_path: Path) -> None:
    rig = Rig(tmp_path, [*WHOLE[:8], "18", "18 units"])
    with pytest.raises(UsageError):
        rig.run()
    rig.writer.close()
    assert any("has no unit" in text for text in rig.screen.shown)
    assert rig.session.state.here.pending is not None


def test_a_record_that_fails_stops_the_session(tmp_path: Path) -> None:
    rig = Rig(tmp_path, WHOLE)
    append = rig.writer.append

    def full(kind: str, body: Mapping[str, Any], at_ms: int) -> None:
        if rig.session.state.done:
            raise RecordError("the disk is full")
        append(kind, body, at_ms)

    rig.session._sink = type("Full", (), {"append": staticmethod(full), "close": rig.writer.close})()
    with pytest.raises(RecordError, match="the disk is full"):
        rig.run()
    rig.writer.close()
    said = [text for text in rig.screen.shown if "Rub both hands all over" in text]
    assert not said, "what was not written down was not spoken"


def test_a_voice_that_fails_is_in_the_record_once(tmp_path: Path) -> None:
    rig = Rig(tmp_path, WHOLE)

    class Failing(TextVoice):
        def start(self, text: str, fault: str | None = None) -> Any:
            return super().start(text, "the voice died; prompts are on the screen")

    rig.session._prompts._voice = Failing(rig.clock)
    rig.run()
    rig.writer.close()
    faults = [entry.body for entry in read_record(rig.path).entries if entry.kind == "fault"]
    assert faults == [{"what": "voice", "detail": "the voice died; prompts are on the screen"}]
    assert rig.session.state.status == "finished"
