"""The cases of the hearing benchmark: a sound, what may be said, what was."""

import random
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np

from companion.ports.sound import Samples
from tests.bench import hearing_noise as noise
from tests.bench.hearing_human import Spoken, prompts, test_data
from tests.bench.hearing_texts import CONTROLS, near_misses, procedure_phrases, talk
from tests.bench.hearing_voices import VOICES, eight_talkers, say

ROOMS = (
    "clean",
    "echo",
    *(f"{kind} {snr} dB" for kind in ("babble", "speech-shaped", "alarm") for snr in (20, 10, 5, 0)),
)
FEW_ROOMS = ("clean", "echo", "babble 20 dB", "babble 10 dB", "speech-shaped 10 dB", "alarm 10 dB")


@dataclass(frozen=True)
class Case:
    """One utterance and its truth. `kind`: phrase, intruder, near (miss or denial) or talk."""

    kind: str
    source: str
    """flite or human."""
    room: str
    phrases: tuple[str, ...]
    truth: str | None
    said: str
    load: Callable[[], Samples]
    fitting: bool
    """True for the half that the calibration may be fitted on."""


@cache
def _noise(kind: str) -> noise.Sound:
    chance = np.random.default_rng(11)
    babble = noise.babble(eight_talkers(talk(96, random.Random(5))), 60, chance)
    return {
        "babble": lambda: babble,
        "speech-shaped": lambda: noise.speech_shaped(babble, 30, chance),
        "alarm": lambda: noise.alarm(30),
    }[kind]()


def in_room(load: Callable[[], Samples], room: str, seed: int) -> Callable[[], Samples]:
    """The same speech as it would arrive in `room`."""
    if room == "clean":
        return load
    if room == "echo":
        return lambda: noise.room(load(), np.random.default_rng(seed))
    kind, snr = room.removesuffix(" dB").rsplit(" ", maxsplit=1)
    return lambda: noise.mixed(load(), np.roll(_noise(kind), seed * 7919), float(snr))


def cases(rooms: tuple[str, ...], size: int, seed: int = 1) -> Iterator[Case]:
    """About `size` phrases from flite and half as many from people in each of `rooms`, and what goes with them."""
    chance = random.Random(seed)
    for room in rooms:
        yield from _synthetic(room, size, chance)
        yield from _human(room, max(8, size // 2), chance)


def _synthetic(room: str, size: int, chance: random.Random) -> Iterator[Case]:
    phrases = procedure_phrases()
    spoken = [(phrase, voice) for phrase in phrases for voice in VOICES]
    for i, (phrase, voice) in enumerate(chance.sample(spoken, min(size, len(spoken)))):
        # The five allowed beside it are the controls, as in a session, and one other reply.
        others = [p for p in chance.sample(phrases, 2) if p != phrase][:1]
        allowed = (phrase, *others, *CONTROLS)
        yield _said("phrase", "flite", room, allowed, phrase, phrase, voice)
        stranger = chance.choice([p for p in phrases if p not in allowed])
        yield _said("intruder", "flite", room, allowed, None, stranger, voice)
        misses = list(near_misses(phrase, chance))
        yield _said("near", "flite", room, allowed, None, misses[i % len(misses)], voice)
    for text in talk(size // 2, chance):
        allowed = (*chance.sample(phrases, 2), *CONTROLS)
        yield _said("talk", "flite", room, allowed, None, text, chance.choice(VOICES))


def _said(
    kind: str, source: str, room: str, allowed: tuple[str, ...], truth: str | None, text: str, voice: str
) -> Case:
    seed = zlib.crc32(f"{text}|{voice}|{room}".encode())
    fitting = seed % 2 == 0
    return Case(kind, source, room, allowed, truth, text, in_room(lambda: say(text, voice), room, seed), fitting)


def _human(room: str, size: int, chance: random.Random) -> Iterator[Case]:
    recorded = prompts()
    short = [clip for clip in recorded if 2 <= len(clip.text.split()) <= 5]
    texts = sorted({clip.text for clip in short})
    for clip in test_data():
        yield from _clip(clip, room, texts or procedure_phrases(), chance, held_out=True)
    for clip in chance.sample(short, min(size, len(short))):
        yield from _clip(clip, room, texts, chance)
    for clip in chance.sample(recorded, min(size, len(recorded))):
        yield _stranger(clip, room, texts, chance, held_out=False)


def _clip(clip: Spoken, room: str, texts: list[str], chance: random.Random, held_out: bool = False) -> Iterator[Case]:
    """A phrase among six others, and the same sound where it is not among them."""
    seed = zlib.crc32(f"{clip.path.name}|{room}".encode())
    if len(clip.text.split()) <= 5:
        others = chance.sample([text for text in texts if text not in clip.text and clip.text not in text], 3)
        allowed = (clip.text, *others, *chance.sample(CONTROLS, 3))
        load = in_room(clip.sound, room, seed)
        yield Case("phrase", "human", room, allowed, clip.text, clip.text, load, clip.for_fitting and not held_out)
    yield _stranger(clip, room, texts, chance, held_out)
    words = clip.text.split()
    if 3 <= len(words) <= 7:
        part = " ".join(chance.choice([words[:-1], words[1:], words[:2]]))
        others = chance.sample([text for text in texts if text not in clip.text], 3)
        allowed = tuple(dict.fromkeys((part, *others, *chance.sample(CONTROLS, 3))))
        load = in_room(clip.sound, room, seed)
        yield Case("near", "human", room, allowed, None, clip.text, load, clip.for_fitting and not held_out)


def _stranger(clip: Spoken, room: str, texts: list[str], chance: random.Random, held_out: bool) -> Case:
    seed = zlib.crc32(f"{clip.path.name}|{room}".encode())
    apart = [text for text in texts if text not in clip.text and clip.text not in text]
    allowed = (*chance.sample(apart, 4), *(c for c in chance.sample(CONTROLS, 3) if c not in clip.text))
    load = in_room(clip.sound, room, seed)
    return Case("intruder", "human", room, allowed, None, clip.text, load, clip.for_fitting and not held_out)
