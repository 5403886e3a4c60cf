"""Captions and chapters, read back with webvtt-py; the rules of a cue are those of W3C WebVTT."""

import html
import importlib.util
import io
import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from companion.exports.source import Source
from companion.exports.webvtt import VOICE, captions, chapters, escaped, timestamp
from companion.session.events import Opened, Replied, Sealed
from tests.realparts import need

_LINE = re.compile(r"(\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3}) --> (\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3})")


@pytest.fixture(autouse=True)
def _reader() -> None:
    need(importlib.util.find_spec("webvtt") is not None, "webvtt-py is missing: pip install webvtt-py")


def read(data: bytes) -> list[Any]:
    import webvtt

    return list(webvtt.from_buffer(io.BytesIO(data)).captions)


def starts(data: bytes) -> Iterator[tuple[int, int]]:
    """Start and end of each cue, in milliseconds, from the text itself."""
    for found in _LINE.finditer(data.decode()):
        hours, minutes, seconds, part, *end = map(int, found.groups())
        first = ((hours * 60 + minutes) * 60 + seconds) * 1000 + part
        yield first, ((end[0] * 60 + end[1]) * 60 + end[2]) * 1000 + end[3]


def test_every_prompt_and_every_reply_is_a_caption(each: Source) -> None:
    cues = read(captions(each))
    told = each.told
    said = [text for moment in told.moments for text in moment.says]
    assert [cue.text for cue in cues if cue.voice == VOICE and not cue.text.startswith("(figures")] == said
    heard = [moment.event.phrase for moment in told.moments if isinstance(moment.event, Replied)]
    assert [cue.text for cue in cues if cue.voice != VOICE and not cue.text.startswith("(")] == heard


def test_the_times_are_those_of_the_record(each: Source) -> None:
    data = captions(each)
    times = list(starts(data))
    assert len(times) == len(read(data))
    assert all(start < end for start, end in times)
    assert [start for start, _ in times] == sorted(start for start, _ in times)
    began = {start for start, _ in times}
    assert {moment.at_ms for moment in each.told.moments if moment.says} <= began


def test_who_speaks_is_told(made: Callable[[str], Source]) -> None:
    voices = {cue.voice for cue in read(captions(made("insulin")))}
    assert voices == {VOICE, "Performer 41", "Checker 27"}


def test_a_figure_under_seal_is_no_caption_before_it_is_opened(made: Callable[[str], Source]) -> None:
    told = made("insulin").told
    sealed = next(moment.at_ms for moment in told.moments if isinstance(moment.event, Sealed))
    opened = next(moment.at_ms for moment in told.moments if isinstance(moment.event, Opened))
    # Whole seconds, rounded down.
    cues = [(cue.start_in_seconds * 1000, cue.text) for cue in read(captions(made("insulin")))]
    hidden = [text for at_ms, text in cues if sealed <= at_ms < opened - 1000]
    assert hidden and not [text for text in hidden if "18" in text or "eighteen" in text]
    assert any("18 units" in text for at_ms, text in cues if at_ms >= opened - 1000)


def test_chapters_follow_one_another_and_name_the_steps(each: Source) -> None:
    data = chapters(each)
    times, cues = list(starts(data)), read(data)
    assert times[0][0] == 0
    assert all(earlier[1] <= later[0] for earlier, later in pairwise(times))
    titles = [each.told.procedure.step(moment.step).title for moment in each.told.moments if moment.step]
    assert {cue.text for cue in cues} <= {*titles, "Who performs it"}
    confirmed = [done.title for done in each.told.confirmed if done.took_ms]
    assert set(confirmed) <= {cue.text for cue in cues}


def test_the_chapters_of_a_step_last_as_long_as_it_was_up(made: Callable[[str], Source]) -> None:
    source = made("insulin")
    lasted = [end - start for start, end in starts(chapters(source))]
    assert lasted == [done.took_ms for done in source.told.confirmed]


def test_an_unfinished_session_says_so(each: Source) -> None:
    for data in (captions(each), chapters(each)):
        assert ("NOTE Unfinished" in data.decode()) == (each.told.ended_by is None)
        assert "NOTE Rehearsal" in data.decode()


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\t<>&-"), min_size=1))
@example("one --> two\n\nthree <b> & <v Somebody>")
def test_no_text_breaks_out_of_its_cue(text: str) -> None:
    line = escaped(text)
    assert "-->" not in line and "\n" not in line and "<" not in line
    assert html.unescape(line) == " ".join(text.split())


@pytest.mark.parametrize(
    ("ms", "written"),
    [(0, "00:00:00.000"), (61_005, "00:01:01.005"), (3_600_000, "01:00:00.000"), (360_000_001, "100:00:00.001")],
)
def test_time_stamps(ms: int, written: str) -> None:
    assert timestamp(ms) == written
