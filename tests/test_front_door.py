"""What a Python caller is offered, and that README's examples run. What is said is invented."""

import json
import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from companion import Guide, Rehearsal, load, read_record
from companion.errors import UsageError
from companion.record.verify import verify
from tests.commands import KEYBOARD, companion

ROOT = Path(__file__).parents[1]
SHORT = ROOT / "tests" / "data" / "short.yaml"
NOON = datetime(2030, 3, 4, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    return tmp_path


def test_the_examples_of_the_readme_run(home: Path) -> None:
    section = (ROOT / "README.md").read_text(encoding="utf-8").split("## From Python\n", 1)[1].split("\n## ", 1)[0]
    blocks = re.findall(r"```python\n(.*?)```", section, re.DOTALL)
    assert len(blocks) == 3 and len(blocks[0].split("\n\n", 1)[1].splitlines()) <= 10
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(blocks)],
        input="standing at it\nbananas\nstop\nend the session\nright\n",
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    assert "`bananas`" in done.stdout and "accepted: " in done.stdout
    assert done.stdout.endswith("exactly right\n")
    guided, rehearsed = sorted((home / "records").glob("*.jsonl"), key=lambda path: path.stat().st_mtime)
    assert {verify(path).state for path in (guided, rehearsed)} == {"intact"}
    first = read_record(guided).confirmed[0]
    assert f"{first.title} " in done.stdout and read_record(rehearsed).judgement is not None


def test_a_typed_session_is_durable_before_it_is_answered_and_verifies_by_its_receipt() -> None:
    with Guide(load(SHORT), performer="41", begins=NOON) as guide:
        for reply in ("tray is complete", "", "hands are dry", "name matches", "birth date matches", "18 units"):
            said = guide.reply(reply) if reply else guide.wait(3)
            entries = [json.loads(line)["body"] for line in guide.path.read_text(encoding="utf-8").splitlines()]
            assert said == guide.says and said[-1] in [say["text"] for say in entries[-1]["says"]]
        with pytest.raises(UsageError, match="`bananas` is not a reply here; accepted: yes; no; "):
            guide.reply("bananas")
        assert "yes" in guide.replies and not guide.ended and not guide.receipt
        guide.reply("exactly right")
        guide.reply("41")
        assert guide.ended
        with pytest.raises(UsageError, match="nothing to reply to"):
            guide.reply("help")
    finding = verify(guide.path, guide.receipt)
    assert finding.state == "intact" and "the receipt matches" in finding.reason
    assert [step.value for step in read_record(guide.path).confirmed if step.value] == ["18 units", "41"]


def test_a_session_that_was_let_go_of_is_gone_on_with(home: Path) -> None:
    with Guide(load(SHORT), performer="41") as guide:
        guide.reply("tray is complete")
    done = companion("resume", str(guide.path), *KEYBOARD, home=home, typed="still valid\n")
    assert "Last confirmed was: " in done.stdout


def test_what_is_no_tag_step_or_level_is_refused_before_a_record_begins(home: Path) -> None:
    for wrong in (
        lambda: Guide(load(SHORT), performer="Jane"),
        lambda: Rehearsal(load("hand-hygiene"), student="Jane"),
        lambda: Rehearsal(load("hand-hygiene"), only=["palm"]),
        lambda: Rehearsal(load("hand-hygiene"), level="some"),  # type: ignore[arg-type]
        lambda: load("hand-hygiene", {"guidance": "as Mrs Okafor says"}),
    ):
        with pytest.raises(UsageError, match=r"accepted|names nobody"):
            wrong()
    assert not (home / "records").exists()


def test_a_rehearsal_is_judged_and_its_record_closed() -> None:
    with Rehearsal(load("hand-hygiene"), student="12", level="headings", only=["palms"], begins=NOON) as rehearsal:
        assert rehearsal.says[-1].endswith(".")
        assert rehearsal.say("hint")[0].startswith("Next: ")
        judgement = rehearsal.finish()
        with pytest.raises(UsageError, match="is over"):
            rehearsal.say("I rub palm against palm")
    told = read_record(rehearsal.path)
    assert told.judgement == judgement and judgement.outcome == "not passed" and told.performer == "12"


def test_the_package_itself_loads_nothing() -> None:
    code = (
        "import companion, sys; print(*[name for name in sys.modules if name.split('.')[0] in ('numpy', 'pydantic')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == ""
    with pytest.raises(AttributeError, match="no attribute 'guide'"):
        __import__("companion").guide  # noqa: B018
