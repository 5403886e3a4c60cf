"""`companion ready`: the check before use. Each line says ok, or what to do."""

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Annotated

import typer

from companion import places
from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.errors import CompanionError
from companion.ports.sound import Block

LISTEN_S = 2.0
_NEEDED_MB = 200
_EARLIEST = datetime(2025, 1, 1, tzinfo=UTC)
"""A clock before the program was written is wrong."""

Line = tuple[str, bool, str]


def ready(
    language: Annotated[str, typer.Option(help="Language of the procedures, such as en-US.")] = "en-US",
    microphone: Annotated[str | None, typer.Option(help="Name or number of the sound input.")] = None,
) -> None:
    """Check recogniser, microphone, room noise, voice, disk and clock. Exit code 1 when the keyboard has to serve."""
    checks: tuple[Callable[[], Line], ...] = (
        lambda: _recogniser(language),
        lambda: _microphone(microphone),
        lambda: _voice(language),
        _disk,
        _clock,
    )
    wrong = False
    for check in checks:
        name, good, detail = check()
        wrong |= not good
        tell(f"{'ok   ' if good else 'TO DO'} {name}: {detail}")
    if wrong:
        tell("A session can still be run with what is there: the keyboard and the screen do the rest.")
        raise typer.Exit(1)


def _recogniser(language: str) -> Line:
    from companion.hearing.engines import open_engine

    try:
        engine = open_engine(None, None, language)
    except CompanionError as fault:
        return "recogniser", False, str(fault)
    engine.close()
    return "recogniser", True, f"{engine.name}, {engine.language}"


def _microphone(device: str | None) -> Line:
    from companion.hearing.level import LevelMeter
    from companion.hearing.microphone import open_microphone

    try:
        source = open_microphone(device)
    except CompanionError as fault:
        return "microphone", False, str(fault)
    clock = RealClock()
    meter = LevelMeter()
    heard = False
    try:
        until = clock.now_ms() + int(LISTEN_S * 1000)
        while clock.now_ms() < until:
            sound = source.read(0.1)
            if isinstance(sound, Block):
                meter.feed(sound.samples)
                heard = True
    except CompanionError as fault:
        return "microphone", False, str(fault)
    finally:
        source.close()
    if not heard:
        return "microphone", False, f"{source.name} gave no sound in {LISTEN_S:g} s; check that it is on and not muted"
    report = meter.report()
    return "microphone", report.ok, f"{source.name}: {report.words}"


def _voice(language: str) -> Line:
    from companion.voice.best import open_voice

    voice, missing = open_voice(language, RealClock())
    name = voice.name
    voice.close()
    return ("voice", False, "; ".join(missing)) if missing else ("voice", True, name)


def _disk() -> Line:
    folder = places.records()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        free_mb = shutil.disk_usage(folder).free // 1_000_000
    except OSError as fault:
        return "disk", False, f"{folder} cannot be used ({fault.strerror}); set COMPANION_HOME to a folder of yours"
    if free_mb < _NEEDED_MB:
        return "disk", False, f"only {free_mb} MB free at {folder}; make at least {_NEEDED_MB} MB free"
    return "disk", True, f"{free_mb} MB free at {folder}"


def _clock() -> Line:
    now = datetime.now().astimezone()
    if now < _EARLIEST:
        return "clock", False, f"it says {now:%Y-%m-%d %H:%M}; set the date and time of this machine"
    return "clock", True, f"{now:%Y-%m-%d %H:%M %Z}; compare it with the ward's"
