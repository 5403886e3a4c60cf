"""How alike two phrases sound: an edit distance over phonemes, weighted by what the mouth does."""

from functools import lru_cache

from companion.hearing.pronunciation import Phonemes, phonemes

# Consonants: place of articulation from lips (0) to throat (1), manner from closed (0) to open (1), voiced or not.
# Vowels: tongue height, tongue backness, rounding, each 0 to 1; a diphthong by its beginning and how far it moves.
# After the chart of the International Phonetic Association; the numbers between are judgement.
_CONSONANTS = {
    "P": (0.0, 0.0, 0), "B": (0.0, 0.0, 1), "M": (0.0, 0.4, 1), "F": (0.1, 0.25, 0), "V": (0.1, 0.25, 1),
    "TH": (0.25, 0.25, 0), "DH": (0.25, 0.25, 1), "T": (0.35, 0.0, 0), "D": (0.35, 0.0, 1), "N": (0.35, 0.4, 1),
    "S": (0.35, 0.3, 0), "Z": (0.35, 0.3, 1), "L": (0.35, 0.7, 1), "R": (0.5, 0.75, 1),
    "SH": (0.5, 0.3, 0), "ZH": (0.5, 0.3, 1), "CH": (0.5, 0.15, 0), "JH": (0.5, 0.15, 1), "Y": (0.6, 0.85, 1),
    "K": (0.8, 0.0, 0), "G": (0.8, 0.0, 1), "NG": (0.8, 0.4, 1), "W": (0.4, 0.85, 1), "HH": (1.0, 0.5, 0),
}  # fmt: skip
_VOWELS = {
    "IY": (1.0, 0.0, 0.0, 0.0), "IH": (0.85, 0.1, 0.0, 0.0), "EY": (0.65, 0.0, 0.0, 0.4), "EH": (0.5, 0.1, 0.0, 0.0),
    "AE": (0.2, 0.1, 0.0, 0.0), "AA": (0.0, 0.8, 0.0, 0.0), "AO": (0.3, 1.0, 0.7, 0.0), "AH": (0.4, 0.5, 0.0, 0.0),
    "UH": (0.85, 0.9, 0.7, 0.0), "UW": (1.0, 1.0, 1.0, 0.0), "OW": (0.6, 1.0, 0.9, 0.4), "ER": (0.5, 0.5, 0.2, 0.1),
    "AY": (0.05, 0.5, 0.0, 1.0), "AW": (0.05, 0.5, 0.4, 1.0), "OY": (0.4, 1.0, 0.7, 1.0),
}  # fmt: skip
_WEAK = frozenset({"AH", "IH", "HH"})
_GAP, _WEAK_GAP = 0.8, 0.5
"""Cost of a phoneme that the other phrase lacks; the weak ones are easily swallowed."""


@lru_cache(maxsize=4096)
def phoneme_distance(one: str, other: str) -> float:
    """0 for the same sound, about 0.2 for near ones (T and D), 1 for a vowel against a consonant."""
    if one == other:
        return 0.0
    if one in _VOWELS and other in _VOWELS:
        gaps = [abs(a - b) for a, b in zip(_VOWELS[one], _VOWELS[other], strict=True)]
        return min(1.0, 0.1 + 0.35 * gaps[0] + 0.25 * gaps[1] + 0.15 * gaps[2] + 0.25 * gaps[3])
    if one in _CONSONANTS and other in _CONSONANTS:
        place, manner, voice = (abs(a - b) for a, b in zip(_CONSONANTS[one], _CONSONANTS[other], strict=True))
        return min(1.0, 0.1 + 0.4 * place + 0.8 * manner + 0.1 * voice)
    return 1.0


def sequence_distance(one: Phonemes, other: Phonemes) -> float:
    """The least cost of turning one string of phonemes into the other."""
    row = [0.0]
    for sound in other:
        row.append(row[-1] + _gap(sound))
    for sound in one:
        before, row = row, [row[0] + _gap(sound)]
        for place, against in enumerate(other, 1):
            changed = before[place - 1] + phoneme_distance(sound, against)
            row.append(min(changed, before[place] + _gap(sound), row[-1] + _gap(against)))
    return row[-1]


def _gap(sound: str) -> float:
    return _WEAK_GAP if sound in _WEAK else _GAP


@lru_cache(maxsize=8192)
def phrase_distance(one: str, other: str) -> float | None:
    """How unlike two phrases sound: 0 the same, 1 nothing in common; None when a word has no pronunciation.

    The cost of the changes, over the cost of leaving every sound of the longer phrase out.
    """
    first, second = spoken(one.split()), spoken(other.split())
    if first is None or second is None:
        return None
    if not first or not second:
        return 0.0 if first == second else 1.0
    return min(1.0, sequence_distance(first, second) / (_GAP * max(len(first), len(second))))


def spoken(words: list[str]) -> Phonemes | None:
    """The usual pronunciation of each word, one after the other; None when a word has none."""
    sounds: list[str] = []
    for word in words:
        said = phonemes(word)
        if not said:
            return None
        sounds.extend(said[0])
    return tuple(sounds)


def same_sound(one: str, other: str) -> bool:
    """True for homophones, such as "no" and "know", whatever the spelling or the parting into words."""
    words, others = one.split(), other.split()
    if len(words) == len(others):
        return all(a == b or not set(phonemes(a)).isdisjoint(phonemes(b)) for a, b in zip(words, others, strict=True))
    first = spoken(words)
    return first is not None and first == spoken(others)
