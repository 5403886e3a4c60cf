"""Playing sound that was kept."""

from companion.clocks import RealClock
from companion.errors import UsageError
from companion.ports.sound import SAMPLE_RATE
from companion.record.clips import clips_of, read_clip
from companion.record.reader import Record

_TICK_MS = 20


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
