"""WebVTT (W3C): captions of what was said, and chapters of the steps, on the session's own clock.

The record says when a reply was taken and a prompt begun, not how long the words lasted: that is reckoned at a calm
speaking pace and cut where the next thing happens.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from companion.exports.source import CAUTION, Source
from companion.review.told import Moment
from companion.session.events import AskedBack, Missed, Opened, Replied, Sealed

_MS_PER_CHARACTER = 70
_LEAST_MS = 800
VOICE = "Companion"


@dataclass(frozen=True)
class Cue:
    """One caption or chapter; `speaker` is empty for chapters. `end_ms` is later than `start_ms`."""

    start_ms: int
    end_ms: int
    speaker: str
    text: str


def captions(source: Source) -> bytes:
    """Prompts and replies, each with its speaker as a voice span."""
    return _file(source, "Captions", sorted(_captions(source), key=lambda cue: cue.start_ms))


def chapters(source: Source) -> bytes:
    """One chapter for each time a step was up; of a rehearsal, one for each step that was said."""
    return _file(source, "Chapters", _chapters(source))


def _captions(source: Source) -> Iterator[Cue]:
    together = [list(same) for _, same in groupby(source.told.moments, key=lambda moment: moment.at_ms)]
    before_ms = 0
    for index, moments in enumerate(together):
        now = moments[0].at_ms
        for moment in moments:
            reply = _reply(moment)
            if moment.uttered is not None and moment.uttered.until_ms > moment.uttered.from_ms:
                yield Cue(moment.uttered.from_ms, moment.uttered.until_ms, _speaker(source, moment), reply)
            elif reply:
                start = max(before_ms, now - _spoken_ms(reply))
                yield Cue(start, max(now, start + 1), _speaker(source, moment), reply)
        after = together[index + 1][0].at_ms if index + 1 < len(together) else None
        yield from _prompts(now, [text for moment in moments for text in moment.says], after)
        before_ms = now


def _prompts(now_ms: int, says: Sequence[str], after_ms: int | None) -> Iterator[Cue]:
    """One after the other; where the next thing happens too soon each gets its share of the time there is."""
    whole = sum(_spoken_ms(text) for text in says)
    room = whole if after_ms is None else min(whole, after_ms - now_ms)
    for text in says:
        end = now_ms + max(1, _spoken_ms(text) * room // whole)
        yield Cue(now_ms, end, VOICE, text)
        now_ms = end


def _reply(moment: Moment) -> str:
    """What a person said there; empty when nobody did."""
    if moment.uttered is not None:
        return moment.uttered.text
    match moment.event:
        case Replied() as event:
            return (
                f"({', '.join((event.phrase, *event.also))}, in own words)"
                if event.how == "own words"
                else event.phrase
            )
        case AskedBack() as event:
            return f"({', '.join(event.phrases) or 'yes or no'}, most likely)"
        case Sealed():
            return "(a figure, hidden)"
        case Opened() as event:
            return f"(figures opened: {event.first}" + (f" and {event.second})" if event.second else ")")
        case Missed(why="unclear"):
            return "(not clearly heard)"
    return ""


def _speaker(source: Source, moment: Moment) -> str:
    if isinstance(moment.event, Opened):
        return VOICE
    if moment.uttered is None and moment.step and source.told.procedure.step(moment.step).checks:
        return _tagged("Checker", source.told.state.checker)
    return _tagged("Performer", source.told.performer)


def _tagged(part: str, tag: str) -> str:
    return f"{part} {tag}".strip()


def _chapters(source: Source) -> Iterator[Cue]:
    if source.told.rehearsed:
        yield from _talked(source)
        return
    # Between two moments that step was up at which the later one happened
    last = source.told.ended_by
    between = pairwise(moment for moment in source.told.moments if last is None or moment.n <= last)
    for step, spans in groupby(between, key=lambda span: span[1].step):
        whole = list(spans)
        start, end = whole[0][0].at_ms, whole[-1][1].at_ms
        if end > start:
            yield Cue(start, end, "", source.told.procedure.step(step).title if step else "Who performs it")


def _talked(source: Source) -> Iterator[Cue]:
    """From when a step was said until the next one was; steps said in one breath share a chapter."""
    said = [list(same) for _, same in groupby(source.told.confirmed, key=lambda each: each.at_ms)]
    ends = [*(steps[0].at_ms for steps in said[1:]), source.told.took_ms]
    for steps, end in zip(said, ends, strict=False):
        if end > steps[0].at_ms:
            yield Cue(steps[0].at_ms, end, "", "; ".join(step.title for step in steps))


def _spoken_ms(text: str) -> int:
    return max(_LEAST_MS, len(text) * _MS_PER_CHARACTER)


def _file(source: Source, what: str, cues: Iterable[Cue]) -> bytes:
    notes = [f"{what} of a session: {source.told.procedure.title}", CAUTION, *source.notices]
    blocks = ["WEBVTT", *(f"NOTE {_one_line(note).replace('-->', '->')}" for note in notes)]
    for number, cue in enumerate(cues, start=1):
        voice = f"<v {escaped(cue.speaker)}>" if cue.speaker else ""
        times = f"{timestamp(cue.start_ms)} --> {timestamp(cue.end_ms)}"
        blocks.append(f"{number}\n{times}\n{voice}{escaped(cue.text)}")
    return ("\n\n".join(blocks) + "\n").encode("utf-8")


def timestamp(ms: int) -> str:
    """`00:01:02.345`; hours grow beyond two figures when they must."""
    seconds, part = divmod(ms, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{part:03d}"


def escaped(text: str) -> str:
    """As it may stand in a cue: on one line, with `&`, `<` and `>` as references, so that no `-->` is left."""
    return _one_line(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _one_line(text: str) -> str:
    return " ".join(text.split())
