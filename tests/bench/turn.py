"""From the end of a reply to the first sound of the next prompt, on real devices: `python -m tests.bench.turn [N]`.

`companion guide` runs the short drill N times in a sound room, and the replies are played into it. The room's own
recording tells when a reply ended (its very samples are found in it) and when the next sound began. The baseline is
the silence that ends an utterance, which any endpointer has to wait for.
"""

import statistics
import sys
import tempfile
from pathlib import Path

import numpy as np

from companion.hearing.endpoint import FOR_PHRASES
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.conversation.aloud import REPLIES, guide, lines_of, listens
from tests.hearing.synthetic_speech import flite
from tests.soundroom import sound_room

AUDIBLE = 300
"""About -40 dBFS."""


def trimmed(samples: Samples) -> Samples:
    loud = np.flatnonzero(np.abs(samples) > AUDIBLE)
    return samples[loud[0] : loud[-1] + 1]


def place(reply: Samples, room: Samples) -> int | None:
    """Where `reply` ends in the recording, or None when it is not there."""
    size = 1 << (room.size + reply.size).bit_length()
    match = np.fft.irfft(np.fft.rfft(room, size) * np.conj(np.fft.rfft(reply, size)), size)[: room.size]
    at = int(match.argmax())
    own = float(np.sum(np.square(reply.astype(np.float64))))
    return at + reply.size if match[at] > 0.5 * own else None


def one_session() -> list[float]:
    """Seconds from each reply to the next sound."""
    gaps: list[float] = []
    with tempfile.TemporaryDirectory() as home, sound_room() as room, guide(room, Path(home)) as process:
        lines = lines_of(process)
        prompt = ""
        while (line := lines.get(timeout=60)) is not None:
            if line[2:] in REPLIES:
                prompt = line[2:]
            elif listens(line) and prompt:
                reply = trimmed(flite(REPLIES[prompt], "slt"))
                prompt = ""
                with room.recording() as heard:
                    room.play(reply)
                    room.record(1.5)
                end = place(reply, heard[0])
                if end is None:
                    continue
                after = np.flatnonzero(np.abs(heard[0][end + SAMPLE_RATE // 50 :]) > AUDIBLE)
                if after.size:
                    gaps.append(0.02 + float(after[0]) / SAMPLE_RATE)
    return gaps


def main() -> None:
    gaps = sorted(gap for _ in range(int(sys.argv[1]) if len(sys.argv) > 1 else 3) for gap in one_session())
    if not gaps:
        raise SystemExit("no reply was followed by a prompt within 1.5 s")
    silence = FOR_PHRASES.end_silence_ms / 1000
    middle = statistics.median(gaps)
    late = gaps[int(0.95 * (len(gaps) - 1))]
    print(f"{len(gaps)} turns: median {middle:.2f} s, p95 {late:.2f} s, worst {gaps[-1]:.2f} s")
    print(f"baseline, the silence that ends an utterance: {silence:.2f} s; median / baseline {middle / silence:.1f}")


if __name__ == "__main__":
    main()
