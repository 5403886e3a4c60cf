"""Keeping the sound of a session: asking everybody for it, and going on with it."""

from collections.abc import Callable

from companion.conversation.asking import Asking
from companion.conversation.consent import Given, agreed_phrases, reach
from companion.conversation.ear import Ear
from companion.conversation.keeper import WITHDRAW, Keeper
from companion.conversation.room import Room
from companion.conversation.turns import announce
from companion.errors import RecordError
from companion.machine.machine import Machine
from companion.procedure.model import Procedure
from companion.record.clips import AGREEMENT, ClipBox, agreed_tags, clips_of
from companion.record.reader import Record
from companion.record.writer import RecordWriter
from companion.speech.language import tell
from companion.speech.speakable import is_english


def agreement(procedure: Procedure, room: Room, ear: Ear | None, performer: str) -> Given | str:
    """Ask everybody in the room, by voice, whether sound may be kept. What was agreed, or why none is kept."""
    language, tag = procedure.language, Machine(procedure).tag()
    if ear is None or room.microphone is None:
        return tell(language, "no microphone")
    if not is_english(language):
        return tell(language, "in English only")
    if ear.recogniser.unknown_words((*agreed_phrases(tag, language), WITHDRAW)):
        return tell("en", "words unknown", engine=ear.recogniser.name)
    return reach(Asking(room, ear), tag, language, performer)


def begin_keeping(reached: Given | str, writer: RecordWriter, room: Room, language: str) -> Keeper | None:
    """Write down what was agreed, and only then say so. None where no sound is kept."""
    if isinstance(reached, str):
        writer.append(AGREEMENT, {"state": "none", "why": reached}, 0)
        _tell(room, tell(language, "no sound", why=reached))
        return None
    body = {"state": "given", "voices": len(reached.tags), "tags": list(reached.tags), "by": list(reached.by)}
    writer.append(AGREEMENT, body, 0)
    _tell(room, tell("en", "all agreed"))
    room.display.notice(tell("en", "to delete", words=WITHDRAW))
    return _keeper(writer, reached.tags)


def go_on_keeping(found: Record, writer: RecordWriter, notice: Callable[[str], None]) -> Keeper | None:
    """The keeper of a session that is resumed; what an interruption left behind is destroyed. None where no sound was
    kept and none may be. Raises RecordError."""
    if not any(entry.kind == AGREEMENT for entry in found.entries):
        return None  # nobody was asked, so whatever lies beside it is none of ours
    tags, clips = agreed_tags(found.entries), clips_of(found.entries)
    try:
        ClipBox(writer.path).keep_only(clips)
    except OSError as fault:
        raise RecordError(f"{writer.path}: the sound beside it cannot be looked after ({fault.strerror})") from fault
    if not tags and not clips:
        return None
    if tags:
        notice(tell("en", "as agreed", tags=" and ".join(tags)))
    notice(tell("en", "to delete", words=WITHDRAW))
    return _keeper(writer, tags)


def _tell(room: Room, text: str) -> None:
    room.display.notice(text)
    announce(room, text)


def _keeper(writer: RecordWriter, tags: tuple[str, ...]) -> Keeper:
    return Keeper(ClipBox(writer.path), writer, lambda: writer.last.n, tags)
