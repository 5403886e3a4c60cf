"""The parts of a session in real time: this machine's microphone, voice and keyboard."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.cli.console import ConsoleDisplay, StdinKeys
from companion.cli.parts import Hearing, open_recogniser, show_record
from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.conversation.loop import Session
from companion.conversation.signs import Spotter
from companion.errors import HearingError, UsageError
from companion.ports.voice import Voice
from companion.procedure.loading.loader import Loaded
from companion.record.writer import RecordWriter

Parts = tuple[Hearing, Voice, ConsoleDisplay, StdinKeys]


@contextmanager
def parts(
    loaded: Loaded,
    clock: RealClock,
    engine: str | None,
    model: Path | None,
    microphone: str | None,
    keyboard: bool,
    silent: bool,
) -> Iterator[Parts]:
    """Opens what is there, prints what is not and the exact line that installs it; closes everything at the end.

    Raises HearingError where an engine or a microphone was named and cannot be had, or a word is unknown.
    """
    from companion.voice.best import open_voice

    voice, missing = open_voice(loaded.procedure.language, clock, aloud=not silent)
    keys = StdinKeys()
    hearing = Hearing()
    try:
        if not keyboard:
            hearing = _open_hearing(loaded, engine, model, microphone)
        for line in (*missing, *hearing.missing):
            tell(f"* {line}")
        display = ConsoleDisplay(hears=hearing.microphone is not None)
        yield hearing, voice, display, keys
    finally:
        keys.close()
        hearing.close()
        voice.close()


def _open_hearing(loaded: Loaded, engine: str | None, model: Path | None, device: str | None) -> Hearing:
    from companion.hearing.microphone import open_microphone

    recogniser = open_recogniser(loaded, engine, model)
    try:
        return Hearing(recogniser, open_microphone(device))
    except HearingError as fault:
        recogniser.close()
        if device is not None:
            raise
        return Hearing(missing=[f"{fault}; until then type the replies"])


def spotter_of(hearing: Hearing, voice: Voice) -> Spotter | None:
    """Listens while the program speaks, where there is a microphone and it speaks English."""
    recogniser = hearing.recogniser
    if recogniser is None or hearing.microphone is None or not recogniser.language.startswith("en"):
        return None
    from companion.hearing.stopword import StopSpotter
    from companion.hearing.vad import best_detector
    from companion.voice.best import echo_reference

    return StopSpotter(recogniser, best_detector(), echo_reference(voice))


def run(session: Session, writer: RecordWriter, begin: Callable[[], None], more: str = "") -> None:
    """Run to the end; a session that is broken off stays in its record and can be resumed, with `more` options."""
    show_record(writer)
    again = f"Go on with: companion resume {writer.path}{more}"
    try:
        begin()
        session.run()
    except KeyboardInterrupt:
        raise UsageError(f"interrupted; nothing is lost. {again}") from None
    except UsageError as fault:
        raise UsageError(f"{fault}. Nothing is lost. {again}") from None
