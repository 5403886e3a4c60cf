"""Puts a conversation together from the parts this machine has, and says what is missing."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from companion.conversation.ear import Ear
from companion.conversation.guided import Session
from companion.errors import HearingError, UsageError
from companion.hearing.decoys import decoys_for
from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.vad import best_detector
from companion.machine.machine import Machine
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.meaning.typed import parse_typed
from companion.meaning.understood import MeaningReader
from companion.ports.clock import Clock
from companion.ports.recogniser import Recogniser
from companion.ports.sound import Microphone
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
from companion.procedure.model import Procedure
from companion.procedure.vocabulary import all_phrases
from companion.record.writer import RecordWriter


@dataclass(frozen=True)
class Wanted:
    """What a person wants of this machine's parts; what is left open, the machine chooses."""

    keyboard: bool = False
    """Nothing is heard."""
    silent: bool = False
    """Nothing is said aloud."""
    microphone: str | None = None
    """Name or number of the sound input."""
    engine: str | None = None
    model: Path | None = None


class _Ear(Protocol):
    def close(self) -> None: ...


E = TypeVar("E", bound=_Ear)


@dataclass(frozen=True)
class Parts(Generic[E]):
    """What this machine has; ear and microphone are both None where typing has to do."""

    voice: Voice
    ear: E | None = None
    microphone: Microphone | None = None
    reader: MeaningReader | None = None
    """None where phrases alone count."""
    missing: tuple[str, ...] = ()
    """What is not there, each with what to do about it."""


@contextmanager
def open_parts(
    language: str, clock: Clock, wanted: Wanted, open_ear: Callable[[Voice], E | str], typing: str
) -> Iterator[Parts[E]]:
    """Opens what is there, and closes everything at the end.

    `language` is a BCP 47 tag; `open_ear` gives the ear for a voice, or why there is none; `typing` says what to type
    until there is one. Raises what `open_ear` raises, and HearingError where a microphone was named that cannot be had.
    """
    from companion.voice.best import open_voice

    voice, missing = open_voice(language, clock, aloud=not wanted.silent)
    with closing(voice), ExitStack() as held:
        ear, microphone, why = (None, None, "") if wanted.keyboard else _open_hearing(voice, wanted, open_ear)
        for part in (ear, microphone):
            if part is not None:
                held.callback(part.close)
        told = (*missing, *((f"{why}; until then {typing}",) if why else ()))
        yield Parts(voice, ear, microphone, missing=told)


def _open_hearing(
    voice: Voice, wanted: Wanted, open_ear: Callable[[Voice], E | str]
) -> tuple[E | None, Microphone | None, str]:
    """Both, or neither and why."""
    from companion.hearing.microphone import open_microphone

    ear = open_ear(voice)
    if isinstance(ear, str):
        return None, None, ear
    try:
        return ear, open_microphone(wanted.microphone), ""
    except HearingError as fault:
        ear.close()
        if wanted.microphone is not None:
            raise
        return None, None, str(fault)


def open_recogniser(loaded: Loaded, engine: str | None, model: Path | None = None) -> Recogniser:
    """The engine for a procedure's language, with every word of the procedure known to it.

    Raises HearingError naming the words it cannot hear."""
    recogniser = open_engine(engine, model, loaded.procedure.language)
    today = date(2000, 1, 1)  # the words of dates are the same in any year's range
    unknown = recogniser.unknown_words(all_phrases(loaded.procedure, today))
    if unknown:
        recogniser.close()
        raise HearingError(
            f"{loaded.path}: the engine {recogniser.name} does not know {', '.join(unknown[:12])}; accepted: "
            "words in its dictionary, or in lexicon-en.yaml of the models folder, or use another engine or --keyboard"
        )
    return recogniser


def ear_for(language: str, recogniser: Recogniser, voice: Voice | None = None) -> Ear:
    """An ear that knows near misses of what may be said; in English it hears "stop" while `voice` speaks."""
    spotter = None
    if voice is not None and recogniser.language.startswith("en"):
        from companion.hearing.stopword import StopSpotter
        from companion.voice.best import echo_reference

        spotter = StopSpotter(recogniser, best_detector(), echo_reference(voice))
    known = recogniser.unknown_words
    return Ear(recogniser, Endpointer(best_detector()), lambda phrases: decoys_for(phrases, language, known), spotter)


@contextmanager
def open_guided(loaded: Loaded, clock: Clock, wanted: Wanted) -> Iterator[Parts[Ear]]:
    """The parts of a guided session. Raises HearingError where an engine cannot be had, or does not know a word, and
    ModelError where the reader of meanings is damaged."""
    language = loaded.procedure.language
    reader, without = open_reader_of_meanings(language)

    def open_ear(voice: Voice) -> Ear:
        return ear_for(language, open_recogniser(loaded, wanted.engine, wanted.model), voice)

    with open_parts(language, clock, wanted, open_ear, "type the replies") as parts:
        yield replace(parts, reader=reader, missing=(*parts.missing, *((without,) if without else ())))


def performer_tag(procedure: Procedure, typed: str, named: str = "performer") -> str:
    """The performer's tag as typed; empty when it is to be asked. Raises UsageError for what is no tag: a name has no
    place in a record. `named` is what the tag is called in that sentence."""
    if not typed:
        return ""
    try:
        return parse_typed(Machine(procedure).tag(), typed, date(2000, 1, 1), procedure.language).text
    except UsageError as refusal:
        raise UsageError(f"{named}: {refusal}; a record names nobody") from None


def opening_of(loaded: Loaded, mode: str, scenario: str | None = None) -> dict[str, Any]:
    """What the first entry of a record says about the session."""
    body: dict[str, Any] = {
        "procedure_id": loaded.procedure.id,
        "procedure_text": loaded.text,
        "settings": dict(loaded.settings),
        "mode": mode,
        "time_zone": "UTC",
    }
    return body | ({"scenario": scenario} if scenario else {})


def finish(session: Session, writer: RecordWriter) -> tuple[str, str]:
    """Close the record of a session that has ended; its outcome and its receipt."""
    outcome = "signed" if session.state.status == "finished" else "abandoned"
    return outcome, writer.finish(outcome, session.now_ms())
