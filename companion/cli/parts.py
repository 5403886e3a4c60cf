"""Puts a session together from the parts this machine has, and says what is missing."""

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from companion.cli.terminal import tell
from companion.conversation.display import Display, Keys
from companion.conversation.ear import Ear
from companion.conversation.keeper import Keeper
from companion.conversation.loop import Session
from companion.conversation.signs import Spotter
from companion.conversation.talk import Talk
from companion.errors import CompanionError, HearingError, UsageError
from companion.hearing.decoys import decoys_for
from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.vad import best_detector
from companion.machine.machine import Machine
from companion.meaning.typed import parse_typed
from companion.ports.clock import Clock
from companion.ports.recogniser import Recogniser
from companion.ports.sound import Microphone
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
from companion.procedure.model import Procedure
from companion.procedure.vocabulary import all_phrases
from companion.record.privacy import refuse_private
from companion.record.receipt import spoken_receipt
from companion.record.writer import RecordWriter
from companion.session.state import State
from companion.voice.text_voice import TextVoice


@dataclass
class Hearing:
    """What the session hears with; both None where the keyboard has to do."""

    recogniser: Recogniser | None = None
    microphone: Microphone | None = None
    missing: list[str] = field(default_factory=list)
    """What is not there, each with what to do about it."""

    def close(self) -> None:
        if self.microphone is not None:
            self.microphone.close()
        if self.recogniser is not None:
            self.recogniser.close()


def parse_settings(pairs: list[str]) -> dict[str, str]:
    """`["rub-time=30 s"]` -> `{"rub-time": "30 s"}`. Raises CompanionError naming the one that is not so."""
    found = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or not name.strip():
            raise CompanionError(f'`{pair}` is not a setting; accepted: NAME=VALUE, such as `--set rub-time="30 s"`')
        found[name.strip()] = refuse_private(f"--set {name.strip()}", value.strip(), date.today())
    return found


def open_recogniser(loaded: Loaded, engine: str | None, model: Path | None) -> Recogniser:
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


def decoys_of(loaded: Loaded, recogniser: Recogniser | None) -> Callable[[tuple[str, ...]], tuple[str, ...]]:
    """Near misses for any set of phrases, in words the recogniser knows."""
    if recogniser is None:
        return lambda _: ()
    language, known = loaded.procedure.language, recogniser.unknown_words
    return lambda phrases: decoys_for(phrases, language, known)


def performer_tag(procedure: Procedure, typed: str) -> str:
    """The performer's tag as typed; empty when it is to be asked aloud. Raises UsageError for what is no tag: a name
    has no place in a record."""
    if not typed:
        return ""
    try:
        return parse_typed(Machine(procedure).tag(), typed, date(2000, 1, 1), procedure.language).text
    except UsageError as refusal:
        raise UsageError(f"--performer: {refusal}; a record names nobody") from None


def opening_of(loaded: Loaded, overrides: Mapping[str, str], mode: str, scenario: str | None) -> dict[str, Any]:
    """What the first entry of a record says about the session."""
    body: dict[str, Any] = {
        "procedure_id": loaded.procedure.id,
        "procedure_text": loaded.text,
        "settings": dict(overrides),
        "mode": mode,
        "time_zone": "UTC",
    }
    return body | ({"scenario": scenario} if scenario else {})


def build(
    loaded: Loaded,
    writer: RecordWriter,
    clock: Clock,
    voice: Voice,
    display: Display,
    keys: Keys,
    hearing: Hearing,
    *,
    state: State | None = None,
    on_turn: Callable[[State], None] | None = None,
    spotter: Spotter | None = None,
    keeper: Keeper | None = None,
) -> Session:
    """A session with everything in its place."""
    ear = None
    if hearing.recogniser is not None and hearing.microphone is not None:
        ear = Ear(hearing.recogniser, Endpointer(best_detector()))
    more: dict[str, Any] = {} if on_turn is None else {"on_turn": on_turn}
    return Session(
        Machine(loaded.procedure),
        writer,
        clock,
        voice,
        display,
        keys,
        lambda: secrets.token_hex(16),
        ear=ear,
        microphone=hearing.microphone,
        decoys=decoys_of(loaded, hearing.recogniser),
        spotter=spotter,
        state=state,
        keeper=keeper,
        **more,
    )


def show_record(writer: RecordWriter) -> None:
    """Tell where the record is, as soon as there is one: whoever is broken off goes on from it."""
    tell(f"The record: {writer.path}")


def finish(session: Session, writer: RecordWriter, say: Callable[[str], None], talk: Talk | None = None) -> None:
    """Close the record of a session that has ended and tell its receipt: shown, and, where there is a voice, then
    spoken group by group."""
    outcome = "signed" if session.state.status == "finished" else "abandoned"
    receipt = writer.finish(outcome, session.now_ms())
    say(f"Outcome: {outcome}" + (f" ({session.state.outcome})" if session.state.outcome else ""))
    say(f"Receipt: {receipt}  ({spoken_receipt(receipt)})")
    say(f"Replay:  companion replay {writer.path}")
    say(f"Record:  {writer.path}")
    if talk is not None:
        talk.say(
            "The receipt code, for whoever keeps it.", *(f"{group}." for group in spoken_receipt(receipt).split(", "))
        )


def talk_of(voice: Voice, clock: Clock, keys: Keys) -> Talk | None:
    """What speaks outside the procedure; None where there is no sound and everything is shown anyway."""
    return None if isinstance(voice, TextVoice) else Talk(voice, clock, keys)
