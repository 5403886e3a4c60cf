"""Keeping the sound of a session: asking for it, going on with it, and playing what was kept."""

from collections.abc import Callable

from companion.cli.parts import Hearing, decoys_of
from companion.clocks import RealClock
from companion.conversation.consent import Given, agreed_phrases, reach
from companion.conversation.display import Display, Keys
from companion.conversation.ear import Ear
from companion.conversation.keeper import WITHDRAW, Keeper
from companion.conversation.talk import Asking, Talk
from companion.errors import RecordError, UsageError
from companion.hearing.endpoint import Endpointer
from companion.hearing.vad import best_detector
from companion.machine.machine import Machine
from companion.ports.clock import Clock
from companion.ports.sound import SAMPLE_RATE
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
from companion.record.clips import AGREEMENT, ClipBox, agreed_tags, clips_of, read_clip
from companion.record.reader import Record
from companion.record.writer import RecordWriter

_TICK_MS = 20


def agreement(
    loaded: Loaded,
    hearing: Hearing,
    voice: Voice,
    display: Display,
    keys: Keys,
    clock: Clock,
    performer: str,
    on_turn: Callable[[], None] = lambda: None,
) -> Given | str:
    """Ask everybody in the room, by voice, whether sound may be kept. What was agreed, or why none is kept."""
    if hearing.recogniser is None or hearing.microphone is None:
        return "there is no microphone"
    language, tag = loaded.procedure.language, Machine(loaded.procedure).tag()
    if not language.startswith("en"):
        return "the question is asked in English only"
    if hearing.recogniser.unknown_words((*agreed_phrases(tag, language), WITHDRAW)):
        return f"the engine {hearing.recogniser.name} does not know the words it is agreed with"
    ear = Ear(hearing.recogniser, Endpointer(best_detector()))
    talk, decoys = Talk(voice, clock, keys), decoys_of(loaded, hearing.recogniser)
    return reach(Asking(talk, display, keys, clock, ear, hearing.microphone, decoys, on_turn), tag, language, performer)


def begin_keeping(reached: Given | str, writer: RecordWriter, display: Display, talk: Talk | None) -> Keeper | None:
    """Write down what was agreed, and only then say so. None where no sound is kept."""

    def say(text: str) -> None:
        display.notice(text)
        if talk is not None:
            talk.say(text)

    if isinstance(reached, str):
        writer.append(AGREEMENT, {"state": "none", "why": reached}, 0)
        say(f"No sound is kept: {reached}.")
        return None
    body = {"state": "given", "voices": len(reached.tags), "tags": list(reached.tags), "by": list(reached.by)}
    writer.append(AGREEMENT, body, 0)
    say("Everybody agreed, so replies are kept as sound. Anyone can have all of it deleted at any time.")
    display.notice(f"To have all of it deleted, say or type: {WITHDRAW}")
    return _keeper(writer, reached.tags)


def go_on_keeping(found: Record, writer: RecordWriter, notice: Callable[[str], None]) -> Keeper | None:
    """The keeper of a session that is resumed; what an interruption left behind is destroyed. None where no sound was
    kept and none may be. Raises RecordError."""
    if not any(entry.kind == AGREEMENT for entry in found.entries):
        return None  # nobody was asked, so whatever lies beside it is none of ours
    tags, clips = agreed_tags(found.entries), clips_of(found.entries)
    try:
        ClipBox(writer.path).keep_only(clips)
    except OSError as fault:
        raise RecordError(f"{writer.path}: the sound beside it cannot be looked after ({fault.strerror})") from fault
    if not tags and not clips:
        return None
    if tags:
        notice(f"Replies are kept as sound, as agreed by tag {' and '.join(tags)}.")
    notice(f"To have all of it deleted, say or type: {WITHDRAW}")
    return _keeper(writer, tags)


def must_hear(keep_sound: bool, keyboard: bool) -> None:
    """Raises UsageError for sound that is to be kept where nothing is heard."""
    if keep_sound and keyboard:
        raise UsageError("--keep-sound goes with a microphone; with --keyboard nothing is heard that could be kept")


def _keeper(writer: RecordWriter, tags: tuple[str, ...]) -> Keeper:
    return Keeper(ClipBox(writer.path), writer, lambda: writer.last.n, tags)


def play(record: Record, number: int) -> None:
    """Play clip `number`, counted from 1 as replay shows them. Raises UsageError, and RecordError for a clip that is
    missing or was changed, VoiceError where there is no loudspeaker."""
    clips = clips_of(record.entries)
    if not 1 <= number <= len(clips):
        has = f"1 to {len(clips)}" if clips else "none, this record has no sound"
        raise UsageError(f"--play {number}: there is no such clip; accepted: {has}")
    samples = read_clip(record.path, clips[number - 1])
    import numpy as np
    import soxr

    from companion.voice.output import Loudspeaker

    clock = RealClock()
    loudspeaker = Loudspeaker(clock)
    try:
        playing = loudspeaker.play(soxr.resample(samples.astype(np.float32) / 32768, SAMPLE_RATE, loudspeaker.rate))
        while not playing.done():
            clock.wait_ms(_TICK_MS)
        fault = playing.fault()
    finally:
        loudspeaker.close()
    if fault:
        raise UsageError(fault)
