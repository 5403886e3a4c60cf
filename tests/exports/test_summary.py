"""The page for the paper file: what is on it, that it fetches and runs nothing, and that it prints on one sheet."""

import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from companion.clocks import SimulatedClock
from companion.exports.source import CAUTION, Source
from companion.exports.summary import to_summary
from companion.record.writer import RecordWriter
from companion.session.events import Missed, Started
from tests.exports.making import START, source
from tests.exports.printing import sheets
from tests.record.making import UnsyncedFiles, key


class Page(HTMLParser):
    """The tags, the texts and the rows of a page."""

    def __init__(self, data: bytes) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.rows: list[list[str]] = []
        self.feed(data.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        elif tag == "td":
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        self.texts.append(data)
        if self.rows and self.rows[-1] and self.tags[-1][0] == "td":
            self.rows[-1][-1] += data.strip()

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split())


def test_every_step_stands_in_the_table(each: Source) -> None:
    rows = Page(to_summary(each)).rows[1:]
    told = each.told.confirmed
    assert [row[1] for row in rows] == [done.title for done in told]
    assert [int(row[5]) for row in rows] == [done.tries + 1 for done in told]
    for row, done in zip(rows, told, strict=True):
        assert all(phrase in row[2] for phrase in done.phrases) and done.value in row[2]


def test_cautions_receipt_and_verification(each: Source) -> None:
    text = Page(to_summary(each)).text
    assert CAUTION in text
    assert all(caution in text for caution in each.told.procedure.cautions)
    assert each.verification in text
    if each.closing is not None:
        assert re.search(rf"Receipt {each.closing.body['receipt']}", text)
    else:
        assert "No receipt yet" in text
    assert ("Unfinished" in text) == (each.closing is None)
    assert "Rehearsal" in text


def test_misses_are_listed(made: Callable[[str], Source]) -> None:
    assert "00:00 ready: not taken: too faint" in Page(to_summary(made("insulin"))).text
    assert "Not taken, and faults" not in Page(to_summary(made("drill"))).text


def test_many_misses_are_counted(made: Callable[[str], Source]) -> None:
    source = made("insulin")
    (miss,) = (each for each in source.told.moments if isinstance(each.event, Missed) and each.event.why == "unclear")
    told = replace(source.told, moments=(*source.told.moments, *[miss] * 30))
    text = Page(to_summary(replace(source, told=told))).text
    assert text.count("not taken: ") == 12
    assert "more, in the record" in text


@pytest.mark.parametrize(
    ("end", "words"),
    [
        ("insulin", "Insulin, rapid acting: 18 units, subcutaneous, left abdomen"),
        ("refused", "Insulin, rapid acting: not given ("),
        ("partly given", "whether and how much was given is not known"),
        ("open at the injection", "not confirmed yet"),
    ],
)
def test_the_medicine(made: Callable[[str], Source], end: str, words: str) -> None:
    assert words in Page(to_summary(made(end))).text


def test_nothing_runs_and_nothing_is_fetched(each: Source) -> None:
    page = Page(to_summary(each))
    assert not {"script", "link", "img", "iframe", "object", "form", "base"} & {tag for tag, _ in page.tags}
    names = {name for _, attributes in page.tags for name in attributes}
    assert not {name for name in names if name.startswith("on") or name in ("src", "href", "style")}
    policies = [a["content"] for tag, a in page.tags if tag == "meta" and "http-equiv" in a]
    assert policies == ["default-src 'none'; style-src 'unsafe-inline'"]
    assert b"url(" not in to_summary(each) and b"@import" not in to_summary(each)


def test_markup_in_a_record_is_only_text(tmp_path: Path, made: Callable[[str], Source]) -> None:
    drill = made("drill").opened.body["procedure_text"]
    writer = RecordWriter.create(
        tmp_path, {"procedure_id": "drill", "procedure_text": drill}, SimulatedClock(START), key(), UnsyncedFiles()
    )
    event = Started(at_ms=0, performer="41", today="2030-03-04").model_dump() | {"kind": "started"}
    writer.append("event", {"event": event, "says": []}, 0)
    writer.append("fault", {"what": "voice", "detail": "</ul><script>alert(1)</script>"}, 5)
    writer.close()
    page = Page(to_summary(source(writer.path)))
    assert "script" not in {tag for tag, _ in page.tags}
    assert "voice: </ul><script>alert(1)</script>" in page.text


@pytest.mark.parametrize("end", ["drill", "insulin", "partly given"])
def test_it_prints_on_one_sheet(made: Callable[[str], Source], tmp_path: Path, end: str) -> None:
    assert sheets(to_summary(made(end)), tmp_path) == 1
