"""A rehearsal of a procedure in Korean is Korean throughout: what is said in it, its debrief and its page hold no word
in Latin letters.

The drill is made up. Talk is understood in English only, so a Korean one is told that it cannot be judged; what a
judgement says is shown with ideas written for these tests."""

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import yaml

from companion.clocks import SimulatedClock
from companion.conversation.room import Room
from companion.procedure.loading import load_rehearsed
from companion.procedure.model import Procedure
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.rehearsal.judging import Hint, Rules, judge
from companion.rehearsal.judging.debrief import LONGEST_S, summary
from companion.rehearsal.rehearsal import Rehearsal
from companion.rehearsal.report import to_report
from companion.session.findings import JUDGED, Heard, Judgement, judgement_from_json
from companion.speech.language import seconds_to_say
from companion.voice.text_voice import TextVoice
from companion.web.live import Board
from companion.web.rehearsing import RehearsalScreen
from tests.commands import companion
from tests.rehearsal.test_loop import Lines, Seen

DRILL = Path(__file__).parent.parent / "data" / "drill-ko.yaml"
KOREAN = load_rehearsed(DRILL).procedure
IDEAS = {
    "hands": ["소독제*"],
    "rub": ["문지*"],
    "who": ["이름*"],
    "side": ["쪽*"],
    "checked": ["확인자*"],
    "motions": ["움직*"],
    "tidy": ["쟁반*"],
    "look": ["살핍*"],
    "sign": ["서명*"],
}
RIGHT = (
    "손바닥에 소독제를 받습니다",
    "두 손을 문지릅니다",
    "이름을 처방과 견줍니다",
    "놓을 쪽은 왼쪽 팔",
    "확인자가 혼자 봅니다",
    "세 가지로 움직입니다",
    "쟁반을 치웁니다",
    "그 자리를 살핍니다",
    "번호로 서명합니다",
)


class Shown(Board):
    """Remembers the sentences that the page was given."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []

    def publish(self, body: Mapping[str, Any]) -> None:
        place = body["place"]
        self.texts += [*body["asked"], *body["replies"], body["remark"], place["where"], place["branch"]]


def rehearse(folder: Path, level: str, *lines: str) -> tuple[Path, list[str], list[str]]:
    """A typed rehearsal of the drill: its closed record, what the program said, and what the page showed."""
    clock, seen, board = SimulatedClock(datetime(2030, 1, 1, tzinfo=UTC)), Seen(), Shown()
    screen = RehearsalScreen(seen, board, KOREAN, level, hears=False, types=True)
    opened = {"procedure_id": KOREAN.id, "procedure_text": DRILL.read_text(encoding="utf-8"), "settings": {}}
    writer = RecordWriter.create(folder, {**opened, "mode": "rehearsal"}, clock, own_key(folder / "keys"))
    rules = Rules(help=level)  # type: ignore[arg-type]
    rehearsal = Rehearsal(KOREAN, rules, Room(clock, TextVoice(clock), screen, Lines(*lines)), writer)
    judgement = rehearsal.run("12")
    screen.judged(judgement)
    writer.finish(judgement.outcome, rehearsal.now_ms())
    writer.close()
    return writer.path, seen.texts, board.texts


def latin(text: str) -> list[str]:
    return re.findall(r"[A-Za-z]+", text)


def text_of(page: bytes) -> str:
    """What is read of a page: without its style and marks."""
    return unescape(re.sub(r"<[^>]*>", " ", re.sub(r"<style>.*?</style>", "", page.decode(), flags=re.DOTALL)))


@pytest.mark.parametrize("level", ["full", "headings", "none"])
def test_it_is_korean_from_its_opening_to_its_page(tmp_path: Path, level: str) -> None:
    path, texts, shown = rehearse(tmp_path, level, "다음", "힌트", "힌트 주세요", RIGHT[0], "다 했습니다")
    entries = read_record(path).entries
    assert [entry.kind for entry in entries].count("hint") == 2
    assert len(texts) >= 5 and [text for text in texts if latin(text)] == []
    says = [text for entry in entries for text in entry.body.get("says", ())]
    assert len(says) >= 5 and [text for text in says if latin(text)] == []
    judged = judgement_from_json(next(entry.body for entry in entries if entry.kind == JUDGED))
    assert judged.outcome == "not judged"
    assert latin(judged.not_judged + "".join(each.reason for each in judged.findings)) == []
    assert latin(text_of(to_report(KOREAN, judged, "2030-01-01"))) == []
    # The note in place of talk that is held back is the record's own.
    assert "힌트" in shown and [text for text in shown if latin(text) and "[held back" not in text] == []


@pytest.mark.parametrize(
    "ending", ["이상입니다", "이제 다 했습니다.", "끝", "여기까지입니다", "연습을 마치겠습니다. 감사합니다"]
)
def test_it_ends_in_korean_words(tmp_path: Path, ending: str) -> None:
    path, _, _ = rehearse(tmp_path, "none", ending, "힌트")
    assert {entry.kind for entry in read_record(path).entries} == {"opened", "rehearsal", JUDGED, "closed"}


def with_ideas(tmp_path: Path) -> Procedure:
    """The drill, in which each step says in which words it is said, and one has to come after another."""
    body = yaml.safe_load(DRILL.read_text(encoding="utf-8"))
    for step in body["steps"]:
        step["ideas"] = IDEAS[step["id"]]
        if step["id"] == "tidy":
            step["after"] = [{"step": "checked", "because": "확인이 끝나야 치울 수 있습니다"}]
    path = tmp_path / "drill-ko.yaml"
    path.write_text(yaml.safe_dump(body, allow_unicode=True), encoding="utf-8")
    return load_rehearsed(path).procedure


def judged(procedure: Procedure, *texts: str, values: dict[str, str], gap_ms: int = 3000) -> Judgement:
    heard = [Heard(text=text, at_ms=n * gap_ms, until_ms=n * gap_ms + 900, n=n) for n, text in enumerate(texts)]
    hints = (Hint("tidy", 5000),)
    dictated = range(0, len(texts), 2)
    rules = Rules(values=values)
    return judge(procedure, heard, rules, took_ms=65_000, hints=hints, performer="12", dictated=dictated)


def test_what_is_found_and_what_to_practise_is_korean(tmp_path: Path) -> None:
    procedure = with_ideas(tmp_path)
    gone = judged(procedure, *RIGHT[:2], *RIGHT[7:], values={})
    crossed = judged(
        procedure, *RIGHT[:4], RIGHT[6], *RIGHT[4:6], *RIGHT[7:], values={"side": "오른쪽 팔"}, gap_ms=14_000
    )
    typed = judged(procedure, "하나", RIGHT[1], values={})
    whole = judged(procedure, *RIGHT, values={})
    each = [gone, crossed, typed, whole]
    kinds = {finding.kind for judgement in each for finding in judgement.findings}
    assert kinds >= {"omitted", "out of order", "too short", "wrong value", "not independent", "hint", "hesitation"}
    for judgement in each:
        told = summary(judgement, procedure.language)
        assert latin(told + "".join(finding.reason for finding in judgement.findings)) == []
        assert seconds_to_say(told, procedure.language) <= LONGEST_S
        assert latin(text_of(to_report(procedure, judgement, "2030-01-01"))) == []


def test_a_talk_that_was_written_down_is_summed_up_in_korean(tmp_path: Path) -> None:
    talk = tmp_path / "talk.txt"
    talk.write_text("\n".join(RIGHT), encoding="utf-8")
    done = companion("rehearse", str(DRILL), "--talk", str(talk), home=tmp_path / "home")
    assert done.returncode == 0, done.stderr
    assert "이 예행연습은 평가하지 않습니다." in done.stdout and "This rehearsal" not in done.stdout
