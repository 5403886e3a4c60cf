"""A recording heard as one utterance, as in a session: near misses beside the phrases, the sound in blocks."""

from collections.abc import Container

from companion.hearing.decoys import decoys_for
from companion.ports.recogniser import Expected, Hearing, Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples

_BLOCK = SAMPLE_RATE * 32 // 1000


def hear_whole(
    recogniser: Recogniser, samples: Samples, phrases: tuple[str, ...], language: str, no_decoys: Container[str] = ()
) -> Hearing:
    """Which of the phrases was said, or none. `no_decoys` are near misses that are not to be listened for."""
    decoys = decoys_for(phrases, language, recogniser.unknown_words)
    listening = recogniser.listen(Expected(phrases, tuple(decoy for decoy in decoys if decoy not in no_decoys)))
    for at in range(0, samples.size, _BLOCK):
        listening.feed(samples[at : at + _BLOCK])
    return listening.finish()
