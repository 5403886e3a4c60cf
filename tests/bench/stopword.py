"""The word "stop" over the program's own prompts: `python -m tests.bench.stopword [SECONDS] [ENGINE]`.

The prompts of the insulin procedure, spoken by the real voice and by flite's, pass through a simulated loudspeaker,
room and microphone (delay 80 ms, a tail of 0.3 s, a loudspeaker that saturates, noise at -62 dBFS). First alone: every
alarm is false. Then with "stop" every five seconds, so much louder or softer than the echo. With and without the echo
canceller (without it the program is deaf to the word; here it is made to listen, as the baseline), and with it where
a busy machine loses or repeats 20 ms of sound every 1.7 s, so that the canceller has to find the echo again and again.
"""

import random
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from companion.hearing.engines import open_engine
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.speech.speakable import speakable
from companion.voice.cache import read_mono
from companion.voice.process import SpeechProcess
from tests.bench.hearing_noise import Sound, active_power, to_samples
from tests.bench.hearing_voices import VOICES, say
from tests.hearing.echo_room import echo, jolted, spotted

PROCEDURE = Path(__file__).parents[2] / "procedures" / "subcutaneous-insulin.yaml"
LEVEL = 0.05
EVERY_S = 5
AFTER_S = 0.7
"""Later than this after the word's end it was not the word that was heard."""


def prompts() -> list[str]:
    """What the procedure says aloud, as the voice is given it."""

    def walk(node: Any) -> Iterator[str]:
        if isinstance(node, dict):
            for key, value in node.items():
                if key == "say" and isinstance(value, str) and "{" not in value:
                    yield speakable(value)
                else:
                    yield from walk(value)
        elif isinstance(node, list):
            for value in node:
                yield from walk(value)

    found = sorted(set(walk(yaml.safe_load(PROCEDURE.read_text(encoding="utf-8")))))
    random.Random(4).shuffle(found)
    return [text for text in found if "stop" not in text.lower().split()]


def spoken(espeak: "_Espeak", texts: list[str], voice: str, seconds: int) -> Sound:
    """`texts` one after the other in `voice`, cut to `seconds`, at one level."""
    parts: list[Sound] = []
    while sum(part.size for part in parts) < seconds * SAMPLE_RATE:
        text = texts[len(parts) % len(texts)]
        parts.append((espeak.say(text) if voice == "espeak-ng" else say(text, voice)) / 32768)
    sound = np.concatenate(parts)[: seconds * SAMPLE_RATE]
    level: Sound = sound * (LEVEL / np.sqrt(active_power(sound)))
    return level


class _Espeak:
    """The program's own voice."""

    def __init__(self) -> None:
        self._process = SpeechProcess("en-US", 165)

    def say(self, text: str) -> Samples:
        import soxr

        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "made.wav"
            self._process.render(text, path, limit_s=5)
            sound, rate = read_mono(path)
        return to_samples(soxr.resample(sound, rate, SAMPLE_RATE).astype(np.float64))

    def close(self) -> None:
        self._process.close()


def main() -> None:
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    engine = open_engine(sys.argv[2] if len(sys.argv) > 2 else "pocketsphinx", None, "en-US")
    espeak = _Espeak()
    texts = prompts()
    words = [say("stop", voice) / 32768 for voice in VOICES]
    print(f"engine {engine.name}; {seconds} s of prompts in each of five voices")
    print(f"{'':18} {'false alone':>12} {'false beside':>13}  heard at dB over the echo")
    levels = (10, 5, 0, -5, -10)
    for name, cancels, arrives in (
        ("echo cancelled", True, np.copy),
        ("the same, jolted", True, jolted),
        ("baseline, not", False, np.copy),
    ):
        alone = beside = 0
        heard = dict.fromkeys(levels, 0)
        said = 0
        for number, voice in enumerate(("espeak-ng", *VOICES)):
            played = spoken(espeak, texts, voice, seconds)
            room = echo(played, number)
            reference = played if cancels else None
            alone += len(spotted(engine, arrives(room), reference))
            times = range(3, seconds - 2, EVERY_S)
            said += len(times)
            for level in levels:
                mixed = room.copy()
                spans = []
                for turn, at in enumerate(times):
                    word = words[(turn + number) % len(words)]
                    gain = np.sqrt(active_power(room) / active_power(word) * 10 ** (level / 10))
                    mixed[at * SAMPLE_RATE :][: word.size] += gain * word
                    spans.append((at, at + word.size / SAMPLE_RATE + AFTER_S))
                hits = spotted(engine, arrives(mixed), reference)
                heard[level] += sum(any(begin < hit < end for hit in hits) for begin, end in spans)
                beside += sum(not any(begin < hit < end for begin, end in spans) for hit in hits)
        shares = "  ".join(f"{level:+d}: {count}/{said}" for level, count in heard.items())
        print(f"{name:18} {alone:12} {beside:13}  {shares}", flush=True)
    engine.close()
    espeak.close()


if __name__ == "__main__":
    main()
