"""`companion hear`: recordings with known truth, heard as in a session, and the count of errors."""

import json
import sys
import time
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any

import typer

from companion.cli.replies import Replies
from companion.cli.terminal import tell
from companion.errors import CompanionError, HearingError
from companion.hearing.engines import open_engine
from companion.hearing.files import read_sound
from companion.hearing.manifest import Clip, Fault, Reply, read_manifest
from companion.hearing.tally import Tally
from companion.hearing.whole import hear_whole
from companion.ports.recogniser import Hearing, Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples


@dataclass
class _Run:
    """What the table at the end is made of."""

    tally: Tally = field(default_factory=Tally)
    sound_s: float = 0.0
    work_s: float = 0.0
    faults: int = 0


def hear(
    manifest: Annotated[
        Path,
        typer.Argument(
            help='One JSON object a line: {"audio": path, "phrases": [...], "truth": phrase or null}; or with "prompt" '
            "and what may be meant, for what is understood (README.md)."
        ),
    ],
    engine: Annotated[
        str | None, typer.Option(help="scorer, pocketsphinx or vosk; the best that is there when left out.")
    ] = None,
    model: Annotated[Path | None, typer.Option(help="Folder of a model to use in place of a fetched one.")] = None,
    language: Annotated[str, typer.Option(help="Language of the recordings, such as en-US.")] = "en-US",
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON line for each recording on standard output, nothing else.")
    ] = False,
) -> None:
    """Hear each recording of a manifest as one utterance; count misses and false acceptances.

    Decoys are added as in a session. The table goes to standard error. Exit code 1 when a line or a recording could
    not be used.
    """
    run = _Run()
    lines = list(read_manifest(manifest, language))
    typed = all(isinstance(line, Reply) and line.path is None for line in lines)
    with ExitStack() as held:
        recogniser = None if typed and lines else open_engine(engine, model, language)
        if recogniser is not None:
            held.callback(recogniser.close)
        name = "" if recogniser is None else recogniser.name
        replies = Replies(language, recogniser)
        for line in lines:
            if isinstance(line, Fault):
                _fault(line.audio, line.message, name, as_json, run)
            elif isinstance(line, Reply):
                _reply(line, replies, as_json, run)
            elif recogniser is not None:
                _one(line, recogniser, language, as_json, run)
    if replies.tally.asked:
        for label, text in replies.tally.rows():
            tell(f"{label:<26}  {text}", err=True)
    if run.tally.decide_s or not replies.tally.asked:
        _table(run, name)
    if run.faults:
        raise typer.Exit(1)


def _one(clip: Clip, recogniser: Recogniser, language: str, as_json: bool, run: _Run) -> None:
    began = time.perf_counter()
    try:
        samples = read_sound(clip.path)
        heard = _heard(clip, samples, recogniser, language)
    except CompanionError as error:
        message = str(error)
        _fault(
            clip.audio, message if clip.audio in message else f"{clip.path}: {message}", recogniser.name, as_json, run
        )
        return
    run.work_s += time.perf_counter() - began
    run.sound_s += samples.size / SAMPLE_RATE
    run.tally.add(clip.truth, heard.phrase, heard.decide_s)
    phrase = None if heard.phrase is None else clip.said[heard.phrase]
    if as_json:
        _print(
            {
                "audio": clip.audio,
                "heard": phrase,
                "margin": round(heard.margin, 3),
                "engine": heard.engine,
                "decide_s": round(heard.decide_s, 4),
            }
        )
    else:
        tell(f"{clip.audio}: {phrase if phrase is not None else f'nothing ({heard.reason})'}")


def _reply(line: Reply, replies: Replies, as_json: bool, run: _Run) -> None:
    try:
        told = replies.understood(line)
    except CompanionError as error:
        _fault(line.line.audio, str(error), "", as_json, run)
        return
    if as_json:
        _print(told)
    else:
        tell(f"{line.line.audio or line.line.said}: {told['understood']} ({told['how']})")


def _heard(clip: Clip, samples: Samples, recogniser: Recogniser, language: str) -> Hearing:
    """The recording as one utterance, brought in blocks as a microphone would."""
    phrases = tuple(clip.said)
    deaf = set(recogniser.unknown_words(phrases))
    for phrase in phrases:
        strange = sorted(deaf.intersection(phrase.split(" ")))
        if strange:
            tell(
                f"{clip.audio}: {recogniser.name} does not know `{'`, `'.join(strange)}`, so it cannot hear "
                f"`{clip.said[phrase]}`; the other phrases are listened for",
                err=True,
            )
    phrases = tuple(phrase for phrase in phrases if deaf.isdisjoint(phrase.split(" ")))
    if not phrases:
        raise HearingError(f"none of the phrases is made of words that {recogniser.name} knows")
    return hear_whole(recogniser, samples, phrases, language, clip.said)


def _fault(audio: str | None, message: str, engine: str, as_json: bool, run: _Run) -> None:
    run.faults += 1
    tell(message, err=True)
    if as_json:
        _print({"audio": audio, "heard": None, "margin": None, "engine": engine, "decide_s": None, "error": message})


def _print(entry: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(entry, ensure_ascii=False, allow_nan=False) + "\n")
    sys.stdout.flush()


def _table(run: _Run, engine: str) -> None:
    rows = [("engine", engine), *run.tally.rows()]
    if run.sound_s:
        rows.append(("real-time factor", f"{run.work_s / run.sound_s:.3f}"))
    peak = _peak_mb()
    rows.append(("peak memory", "not known on this system" if peak is None else f"{peak:.0f} MB"))
    if run.faults:
        rows.append(("could not be used", str(run.faults)))
    wide = max(len(label) for label, _ in rows)
    for label, text in rows:
        tell(f"{label:<{wide}}  {text}", err=True)


def _peak_mb() -> float | None:
    """The most memory this process has held, in megabytes; None on Windows, which has no such count in Python."""
    try:
        import resource
    except ImportError:
        return None
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024) if sys.platform == "darwin" else peak / 1024
