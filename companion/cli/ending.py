"""A guided session on the terminal, from its first word to the receipt."""

from collections.abc import Callable

from companion.cli.terminal import tell
from companion.conversation.guided import Session
from companion.conversation.parts import finish
from companion.conversation.turns import announce
from companion.errors import UsageError
from companion.record.receipt import spoken_receipt
from companion.record.writer import RecordWriter
from companion.session.state import State
from companion.speech import language


def show_record(writer: RecordWriter) -> None:
    """Tell where the record is, as soon as there is one: whoever is broken off goes on from it."""
    tell(f"The record: {writer.path}")


def run(session: Session, writer: RecordWriter, begin: Callable[[Session], None], more: str = "") -> State:
    """Run to the end; a session that is broken off stays in its record and can be resumed, with `more` options."""
    show_record(writer)
    again = f"Go on with: companion resume {writer.path}{more}"
    try:
        begin(session)
        return session.run()
    except KeyboardInterrupt:
        raise UsageError(f"interrupted; nothing is lost. {again}") from None
    except UsageError as fault:
        raise UsageError(f"{fault}. Nothing is lost. {again}") from None


def tell_end(session: Session, writer: RecordWriter, say: Callable[[str], None] = tell) -> None:
    """Close the record of a session that has ended and tell its receipt: shown, and, where there is a voice, then
    spoken group by group."""
    outcome, receipt = finish(session, writer)
    spoken_in = session.machine.procedure.language
    words = spoken_receipt(receipt, spoken_in)
    say(f"Outcome: {outcome}" + (f" ({session.state.outcome})" if session.state.outcome else ""))
    say(f"Receipt: {receipt}  ({words})")
    say(f"Replay:  companion replay {writer.path}")
    say(f"Record:  {writer.path}")
    announce(session.room, language.tell(spoken_in, "receipt"), *(f"{group}." for group in words.split(", ")))
