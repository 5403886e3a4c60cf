"""How English words sound: CMUdict as PocketSphinx carries it, and a small lexicon of clinical words of our own."""

from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

import yaml

from companion.datafiles import packaged
from companion.errors import HearingError

LEXICON = "lexicon-en.yaml"

Phonemes = tuple[str, ...]
"""ARPAbet symbols without stress, as CMUdict writes them: `("S", "T", "AA", "P")`."""


@lru_cache(maxsize=1)
def _cmudict() -> bytes:
    """The whole dictionary as one block; a word is found by searching it, which costs 3 MB and not 30."""
    try:
        from pocketsphinx import get_model_path
    except ImportError as error:
        raise HearingError("English pronunciations need the package pocketsphinx: pip install pocketsphinx") from error
    path = Path(get_model_path("en-us/cmudict-en-us.dict"))
    try:
        return b"\n" + path.read_bytes()
    except OSError as error:
        raise HearingError(f"cannot read the pronouncing dictionary {path}: {error.strerror}") from error


@lru_cache(maxsize=1)
def _lexicon() -> dict[str, tuple[Phonemes, ...]]:
    """Our own words; each value in the file is one pronunciation or a list of them."""
    path = packaged("models") / LEXICON
    try:
        words = yaml.safe_load(path.read_text(encoding="utf-8"))
    except (OSError, yaml.YAMLError) as error:
        raise HearingError(f"cannot read the lexicon {path}: {error}") from error
    return {
        str(word): tuple(tuple(one.split()) for one in ([said] if isinstance(said, str) else said))
        for word, said in words.items()
    }


_HISSING = frozenset({"S", "Z", "SH", "ZH", "CH", "JH"})
_VOICELESS = frozenset({"P", "T", "K", "F", "TH"})


@lru_cache(maxsize=4096)
def phonemes(word: str) -> tuple[Phonemes, ...]:
    """Every pronunciation of a lower-case word, the usual one first; empty when the word is not known.

    A plural or possessive that is in neither list is its stem with the regular ending; "un" makes an opposite.
    """
    found = _listed(word)
    if found or len(word) < 4:
        return found
    if word.startswith("un"):
        return tuple(("AH", "N", *said) for said in _listed(word[2:]))
    if not word.endswith("s") or word.endswith("ss"):
        return ()
    stem = word[:-2] if word.endswith(("'s", "’s")) else word[:-1]
    return tuple((*said, *_plural(said[-1])) for said in _listed(stem))


def _listed(word: str) -> tuple[Phonemes, ...]:
    return _lexicon().get(word) or _looked_up(word)


def _plural(last: str) -> Phonemes:
    if last in _HISSING:
        return ("IH", "Z")
    return ("S",) if last in _VOICELESS else ("Z",)


@lru_cache(maxsize=1024)
def _stretch(letters: bytes) -> tuple[int, int]:
    """Where in the block the words with these first letters stand: the dictionary is in their order."""
    block = _cmudict()
    start = max(block.find(b"\n" + letters), 0)
    return start, block.rfind(b"\n" + letters, start) + 300


def _looked_up(word: str) -> tuple[Phonemes, ...]:
    """What CMUdict says."""
    block = _cmudict()
    found: list[Phonemes] = []
    try:
        spelling = word.replace("’", "'").encode("ascii")
    except UnicodeEncodeError:
        return ()
    if not spelling or b" " in spelling or b"\n" in spelling or b"(" in spelling:
        return ()
    number = 1
    while True:
        key = b"\n" + spelling + (b" " if number == 1 else b"(%d) " % number)
        start = block.find(key, *_stretch(spelling[:2]))
        if start < 0:
            return tuple(found)
        end = block.find(b"\n", start + 1)
        found.append(tuple(block[start + len(key) : end].decode("ascii").split()))
        number += 1


def unknown_words(phrases: Iterable[str]) -> tuple[str, ...]:
    """Words of `phrases` without a pronunciation, each once, in the order met."""
    words = dict.fromkeys(word for phrase in phrases for word in phrase.split())
    return tuple(word for word in words if not phonemes(word))
