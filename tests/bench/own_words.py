"""Whole sessions in natural replies that nobody was taught: `python -m tests.bench.own_words [--typed] [--voice slt]`.

The replies lie in tests/data/replies/sessions, by people who saw only the questions: insulin from a vial, and a
procedure that was written after the last teaching. Who is not understood says the phrase. With
`--say 'COMMAND {text} {file}'` another voice speaks: a command that writes a WAV file.
"""

import argparse
import shlex
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.errors import CompanionError
from companion.hearing.engines import open_engine
from companion.hearing.files import read_sound
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.meaning.understood import MeaningReader
from companion.ports.recogniser import Recogniser
from companion.ports.sound import Samples
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.loading import load
from companion.procedure.loading.loader import Loaded
from companion.speech.speakable import words_of
from companion.speech.value_phrases import say_value
from tests.hearing.synthetic_speech import flite
from tests.procedures.library import FOLDER
from tests.procedures.speaking import People, speak
from tests.procedures.walking import Walk

SESSIONS = Path(__file__).parent.parent / "data" / "replies" / "sessions"
_KINDS: Mapping[str, Mapping[str, str]] = {
    "subcutaneous-insulin": {
        "ordered-kind": "rapid acting",
        "kind-read": "rapid acting",
        "ordered-dose": "eighteen units",
    },
    "skin-staples-out": {"days": "ten days", "counted": "fourteen parts", "removed": "fourteen parts"},
}
"""What is given in the sessions as written; any other value is the first that nothing is said against."""
_CHECKER = "awb"


@dataclass(frozen=True)
class Went:
    """How one session went: replies in own words, those said again, asked back and not meant, steps gone wrong."""

    replies: int
    again: tuple[str, ...]
    mistaken: tuple[str, ...]
    wrong: tuple[str, ...]
    status: str


def replies(path: Path) -> dict[str, tuple[str, ...]]:
    """One session's: by step or `step/item`, one for each time it is asked."""
    found: dict[str, tuple[str, ...]] = {}
    for line in path.read_text("utf-8").splitlines():
        key, _, reply = line.partition("\t")
        found[key] = (*found.get(key, ()), reply)
    return found


def loaded_for(path: Path) -> Loaded:
    """The procedure that a session is of: the library's, or one that lies beside it."""
    name = path.name.split(".", maxsplit=1)[0]
    beside = path.with_name(f"{name}.yaml")
    return load(beside if beside.is_file() else FOLDER / f"{name}.yaml")


class Voice:
    """Speaks replies: flite, or a command of the caller's for the performer."""

    def __init__(self, name: str, command: str = "") -> None:
        self.name, self._command = name or "another", command

    def __call__(self, text: str, checkers: bool) -> Samples:
        if checkers or not self._command:
            return flite(text, _CHECKER if checkers else self.name)
        with TemporaryDirectory() as folder:
            path = Path(folder) / "said.wav"
            subprocess.run(
                [part.format(text=text, file=path) for part in shlex.split(self._command)],
                check=True,
                capture_output=True,
            )
            return read_sound(path)


def spoken(path: Path, recogniser: Recogniser, reader: MeaningReader, voice: Voice) -> Went:
    """One session by sound alone."""
    loaded = loaded_for(path)
    procedure = loaded.procedure
    walk = Walk(procedure, _KINDS[path.name.split(".", maxsplit=1)[0]]).to_end()
    values = walk.walker.state.values
    script = {
        step.id: words_of(say_value(values[step.id], step.value))
        for step in procedure.steps
        if isinstance(step, ReadingStep) and step.id in values
    }
    own = replies(path)
    people = People(procedure, script, own)
    count = sum(len(said) for said in own.values())
    with TemporaryDirectory() as folder:
        try:
            told = speak(loaded, people, recogniser, Path(folder), voice, reader)
        except AssertionError as never:  # not even the phrase is understood of this voice
            return Went(count, tuple(people.again), tuple(people.mistaken), (), str(never))
    state = told.state
    differ = [name for name, value in values.items() if state.values.get(name) != value]
    strange = sorted(set(told.confirmed()) ^ set(walk.done))
    return Went(count, tuple(people.again), tuple(people.mistaken), (*differ, *strange), state.status)


def main() -> None:
    """A line for each session and voice, and beneath it what was not understood."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--voice", action="append", default=[])
    parser.add_argument("--say", default="", help="a command that speaks {text} into {file}")
    options = parser.parse_args()
    reader, missing = open_reader_of_meanings("en-US")
    if reader is None:
        sys.exit(missing)
    try:
        recogniser = open_engine("scorer", None, "en-US")
    except CompanionError as error:
        sys.exit(str(error))
    print("| session | voice | replies | said again | asked back and not meant | gone wrong | ended |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    voices = [Voice(name) for name in options.voice or ("slt", "rms", "kal16")]
    for voice in [Voice("", options.say)] if options.say else voices:
        for path in sorted(SESSIONS.glob("*.tsv")):
            went = spoken(path, recogniser, reader, voice)
            print(
                f"| {path.stem} | {voice.name} | {went.replies} | {len(went.again)} | {len(went.mistaken)} "
                f"| {', '.join(went.wrong) or 'nothing'} | {went.status} |",
                flush=True,
            )
            for text in (*went.again, *(f"not `{phrase}`" for phrase in went.mistaken)):
                print(f"  {text}")
    recogniser.close()


if __name__ == "__main__":
    main()
