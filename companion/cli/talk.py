"""`companion rehearse --talk`: a talk that was written down, judged as if it had been typed; nothing is recorded."""

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from companion.cli.outcome import show_finding
from companion.cli.terminal import tell
from companion.cli.wrapped import line
from companion.conversation.room import LONGEST_TYPED
from companion.errors import UsageError
from companion.meaning.reader.fetched import open_reader
from companion.plainfiles import read_plain
from companion.procedure.model import Procedure
from companion.record.privacy import talk_held_back
from companion.rehearsal.judging import Rules, judge
from companion.rehearsal.judging.debrief import how_it_went, in_doubt
from companion.session.findings import Heard, Judgement

MOST_BYTES, MOST_LINES = 256 * 1024, 1000
_ACCEPTED = "accepted: a text in UTF-8, one utterance a line"


def judge_talk(procedure: Procedure, rules: Rules, said: Mapping[int, str], as_json: bool) -> None:
    """Print what a talk (`read_talk`) says. Raises ModelError for a broken reader."""
    today = date.today()
    reader, missing = open_reader(procedure)
    if missing:
        tell(line(missing, "* "), err=as_json)
    # A rehearsal judges what its record may hold; and nobody measured when each line was said.
    kept = (talk_held_back(text, today) for text in said.values())
    heard = [Heard(text=text, at_ms=0, until_ms=0, n=n) for n, text in enumerate(kept)]
    judgement = judge(procedure, heard, rules, took_ms=0, reader=reader)
    if as_json:
        tell(json.dumps(_told(judgement, list(said))))
    else:
        _show(procedure, judgement, list(said))


def read_talk(path: Path) -> dict[int, str]:
    """Its utterances by the number of their line, from 0; an empty line counts and is none. Raises UsageError."""
    try:
        text = read_plain(path, MOST_BYTES, links=True).decode("utf-8-sig")
    except OSError as error:
        raise UsageError(f"{path}: the talk cannot be read ({error.strerror}); {_ACCEPTED}") from None
    except UnicodeDecodeError:
        raise UsageError(f"{path}: the talk is not UTF-8; {_ACCEPTED}") from None
    if "\0" in text:
        raise UsageError(f"{path}: the talk is no text; {_ACCEPTED}")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removesuffix("\n").split("\n")
    if len(lines) > MOST_LINES:
        raise UsageError(f"{path}: the talk has {len(lines)} lines; {_ACCEPTED}, at most {MOST_LINES}")
    said = {n: each.strip() for n, each in enumerate(lines) if each.strip()}
    if not said:
        raise UsageError(f"{path}: nothing is said in it; {_ACCEPTED}")
    for n, each in said.items():
        if len(each) > LONGEST_TYPED:
            raise UsageError(f"{path}:{n + 1}: the line is too long; {_ACCEPTED}, up to {LONGEST_TYPED} characters")
    return said


def _told(judgement: Judgement, lines: list[int]) -> dict[str, list[object]]:
    """Each step due once. One that nobody can recognise is in doubt: left out here, it would pass for not due."""
    said = {mark.step for mark in judgement.marks}
    missed = {finding.step for finding in judgement.findings if finding.kind == "omitted"}
    return {
        "said": [{"utterance": lines[mark.heard.n], "step": mark.step} for mark in judgement.marks],
        "doubt": [step for step in judgement.expected if step not in said | missed],
        "missed": [step for step in judgement.expected if step in missed],
    }


def _show(procedure: Procedure, judgement: Judgement, lines: list[int]) -> None:
    tell(line(procedure.title))
    for mark in judgement.marks:
        tell(line(f"{mark.title}: {mark.heard.text}", f"{lines[mark.heard.n] + 1:4d}  "))
    for finding in judgement.findings:
        show_finding(finding, judgement)
        for heard in finding.heard:  # the words it speaks of
            tell(line(heard.text, f"{lines[heard.n] + 1:4d}  "))
    language = procedure.language
    tell(line(" ".join([*how_it_went(judgement, language), *in_doubt(judgement, language)])))
    tell(f"Outcome: {judgement.outcome}")
