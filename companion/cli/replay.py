"""`companion replay`: what was asked, heard and decided, and how long it took."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from companion import places
from companion.cli.terminal import cell, tell
from companion.clocks import RealClock
from companion.errors import UsageError
from companion.ports.clock import Clock
from companion.ports.voice import Voice
from companion.record.clips import agreements, clips_of
from companion.record.reader import Record, read_record
from companion.record.trusted import known_keys
from companion.record.verify import verify
from companion.review.timeline import timeline
from companion.review.told import Moment, Timeline

_TICK_MS = 20
_STATES = {"withdrawn": "all of it was deleted", "ended": "kept no more from there on", "none": "none was kept"}


def replay(
    record: Annotated[Path, typer.Argument(help="A session record (.jsonl).")],
    speed: Annotated[float | None, typer.Option(help="Let time pass as it did, this many times as fast.")] = None,
    aloud: Annotated[bool, typer.Option("--aloud", help="Speak the prompts again.")] = False,
    play: Annotated[int | None, typer.Option(help="Play one sound clip of it, by number.")] = None,
) -> None:
    """Show a session again from its record, after verifying it."""
    if speed is not None and not 0.1 <= speed <= 1000:
        raise UsageError(f"--speed {speed:g} is out of range; accepted: 0.1 to 1000")
    found = read_record(record)
    if play is not None:
        from companion.cli.play import play as play_clip

        play_clip(found, play)
        return
    told = timeline(found)
    tell(f"{told.procedure.title}\n{verify(record, known=known_keys(places.keys())).sentence()}\n")
    clock = RealClock()
    voice = _voice(told, clock) if aloud else None
    try:
        _play(told, clock, speed, voice, _clips(found))
    finally:
        if voice is not None:
            voice.close()
    _summary(told)
    for line in _about_sound(found):
        tell(line)


def _clips(record: Record) -> dict[int, str]:
    """What is shown of a clip, by the number of the entry whose reply it is."""
    return {
        clip.of: f"sound {number}, {clip.ms / 1000:.1f} s" for number, clip in enumerate(clips_of(record.entries), 1)
    }


def _about_sound(record: Record) -> Iterator[str]:
    """What was agreed about sound, and how to hear it; nothing where nobody was asked."""
    for each in agreements(record.entries):
        if each.state == "given":
            yield f"Sound: agreed by tag {' and '.join(each.tags)}"
        else:
            yield f"Sound: {_STATES.get(each.state, 'not kept')} ({each.why})"
    if clips_of(record.entries):
        yield f"Hear one: companion replay {record.path} --play NUMBER"


def _voice(told: Timeline, clock: RealClock) -> Voice:
    from companion.voice.best import open_voice

    voice, missing = open_voice(told.procedure.language, clock)
    for line in missing:
        tell(f"* {line}")
    return voice


def _play(told: Timeline, clock: Clock, speed: float | None, voice: Voice | None, clips: Mapping[int, str]) -> None:
    last_ms = 0
    for moment in told.moments:
        if speed is not None:
            clock.wait_ms(int((moment.at_ms - last_ms) / speed))
        last_ms = moment.at_ms
        _show(moment, clips.get(moment.n, ""))
        if voice is not None:
            for text in moment.says:
                speaking = voice.start(text)
                while not speaking.done():
                    clock.wait_ms(_TICK_MS)


def _show(moment: Moment, clip: str) -> None:
    tell(
        f"{clock_of(moment.at_ms)}  {moment.step or '-'}: {moment.heard}"
        + (f"  -> {moment.decided}" if moment.decided else "")
        + (f"  [{clip}]" if clip else "")
    )
    for text in moment.says:
        tell(f"           {text}")


def _summary(told: Timeline) -> None:
    title = "Steps that were said" if told.rehearsed else "Steps that stand confirmed"
    table = Table(title=title, title_justify="left")
    for column in ("at", "step", "confirmed by", "how", "took", "tries", "note"):
        table.add_column(column, overflow="fold")
    for step in told.confirmed:
        how = step.engine if step.by == "voice" else step.by.replace("key", "typed")
        heard = ", ".join(step.phrases) + (f" = {step.value}" if step.value else "")
        took, tries = f"{step.took_ms / 1000:.1f} s", str(step.tries + 1)
        table.add_row(*map(cell, (clock_of(step.at_ms), step.title, heard, how, took, tries, step.note)))
    console = Console(width=None if Console().is_terminal else 120)
    console.print(table)
    number, took = len(told.confirmed), clock_of(told.took_ms)
    if told.rehearsed:
        outcome = "not ended" if told.judgement is None else told.judgement.outcome
        tell(f"{outcome}; {number} steps said in {took}")
        return
    status = told.state.status + (f" ({told.state.outcome})" if told.state.outcome else "")
    tell(f"{status}; {number} steps confirmed in {took}")


def clock_of(ms: int) -> str:
    """Session time as minutes, seconds and tenths."""
    minutes, rest = divmod(max(ms, 0), 60_000)
    return f"{minutes:02d}:{rest / 1000:04.1f}"
