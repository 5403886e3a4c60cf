"""A list of what is to be heard, one JSON object a line: `audio`, `phrases`, and `truth` (a phrase or null); or a
question with its `prompt`, as `meaning.stand` tells."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from num2words import num2words

from companion.errors import HearingError, UsageError
from companion.meaning.stand import Line, line_of
from companion.plainfiles import read_plain
from companion.speech.speakable import is_english, words_of

LARGEST = 64 * 1024 * 1024
"""Bytes; a line comes to a few hundred."""

_ACCEPTED = 'accepted: {"audio": path, "phrases": [one or more phrases], "truth": one of them or null}'


@dataclass(frozen=True)
class Clip:
    """One line of a manifest. Phrases are as the manifest writes them; `said` gives each as it is spoken."""

    audio: str
    """As the manifest writes it."""
    path: Path
    """Where it is: relative paths count from the manifest's folder."""
    said: dict[str, str]
    """Phrase in whole lower-case words -> phrase as written, in the manifest's order."""
    truth: str | None
    """In whole lower-case words; None when none of the phrases was said."""


@dataclass(frozen=True)
class Reply:
    """One line with a question; `path` is where its recording is, None where words are given."""

    line: Line
    path: Path | None


@dataclass(frozen=True)
class Fault:
    """A line that cannot be used."""

    audio: str | None
    """What it names as its recording, where that much can be read."""
    message: str


def read_manifest(path: Path, language: str) -> Iterator[Clip | Reply | Fault]:
    """Every line in turn, blank ones left out. Raises HearingError when the file itself cannot be read."""
    try:
        lines = read_plain(path, LARGEST, links=True).decode("utf-8-sig").splitlines()
    except FileNotFoundError as error:
        raise HearingError(f"{path}: there is no such manifest") from error
    except (OSError, UnicodeDecodeError) as error:
        raise HearingError(f"{path}: cannot be read as UTF-8 text, one JSON object a line") from error
    for number, line in enumerate(lines, start=1):
        if line.strip():
            yield _clip(line, f"{path}:{number}", path.parent, language)


def _spoken(text: str, language: str) -> str:
    """The text in whole lower-case words; `1st` and `3D` are taken apart first, which a phrase in words never needs."""
    if is_english(language):
        text = re.sub(r"\b([0-9]{1,4})(?:st|nd|rd|th)\b", lambda m: num2words(int(m[1]), to="ordinal"), text)
        text = re.sub(r"(?<=[0-9])(?=[A-Za-z]\b)", " ", text)
    return words_of(text, language)


def _clip(line: str, where: str, folder: Path, language: str) -> Clip | Reply | Fault:
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError) as error:
        return Fault(None, f"{where}: is not JSON ({error}); {_ACCEPTED}")
    if isinstance(entry, dict) and "prompt" in entry:
        try:
            told = line_of(entry, where)
        except UsageError as fault:
            return Fault(None, str(fault))
        return Reply(told, None if told.audio is None else folder / told.audio)
    if not isinstance(entry, dict) or not isinstance(entry.get("audio"), str) or not entry["audio"]:
        return Fault(None, f"{where}: `audio` must be the path of a recording; {_ACCEPTED}")
    audio = entry["audio"]
    if unknown := entry.keys() - {"audio", "phrases", "truth"}:
        return Fault(audio, f"{where}: unknown key `{min(unknown)}`; {_ACCEPTED}")
    phrases, truth = entry.get("phrases"), entry.get("truth")
    if not isinstance(phrases, list) or not phrases or not all(isinstance(phrase, str) for phrase in phrases):
        return Fault(audio, f"{where}: `phrases` must be a list of one or more texts; {_ACCEPTED}")
    if truth is not None and not isinstance(truth, str):
        return Fault(audio, f"{where}: `truth` must be a phrase or null; {_ACCEPTED}")
    said: dict[str, str] = {}
    for phrase in phrases:
        words = _spoken(phrase, language)
        if not words:
            return Fault(audio, f"{where}: the phrase `{phrase}` holds no words; {_ACCEPTED}")
        said.setdefault(words, phrase)
    spoken = None if truth is None else _spoken(truth, language)
    if spoken is not None and spoken not in said:
        return Fault(audio, f"{where}: the truth `{truth}` is not among the phrases; {_ACCEPTED}")
    return Clip(audio, folder / audio, said, spoken)
