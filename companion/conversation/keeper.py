"""Keeps the sound of replies, for as long as everybody in the room has agreed to it.

What is kept: utterances that were taken as a reply, or asked for again because they were not clear. Talk that was
not for the program is not, nor anything heard while nobody was asked. A figure under seal would be no secret as sound,
and a second person may not have agreed: such utterances wait in memory until the seals are opened.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from companion.ports.recogniser import Hearing
from companion.ports.sink import RecordSink
from companion.ports.sound import Samples
from companion.procedure.kinds.base import Meaning
from companion.record.clips import AGREEMENT, SOUND, ClipBox
from companion.session.events import AnyEvent, Missed, Opened, Replied, Sealed
from companion.session.state import State
from companion.speech.language import tell

WITHDRAW = "delete all recordings"
"""Said or typed at any time, it ends the keeping and destroys what was kept."""
DELETE = Meaning("control", "delete recordings")


@dataclass(frozen=True)
class _Waiting:
    of: int
    samples: Samples


class Keeper:
    """One session's sound. `last_n` tells the number of the entry that was written last; `tags` are those who agreed.
    Without any it keeps nothing, and can still delete what was kept before."""

    def __init__(self, box: ClipBox, sink: RecordSink, last_n: Callable[[], int], tags: tuple[str, ...]) -> None:
        self._box = box
        self._sink = sink
        self._last_n = last_n
        self._tags = frozenset(tags)
        self._sealed: list[_Waiting] = []
        self._due: list[_Waiting] = []
        self._keeping = bool(tags)
        self._withdrawn = False

    @property
    def phrases(self) -> Mapping[str, Meaning]:
        """What may be said to it."""
        return {} if self._withdrawn else {WITHDRAW: DELETE}

    def took(self, event: AnyEvent, state: State, samples: Samples | None, secret: bool) -> str:
        """An event was written; `samples` is the utterance behind it, if any, `secret` whether a figure under seal or
        a second person was asked for. Returns a sentence when that ends the keeping."""
        if not self._keeping:
            return ""
        stranger = next((tag for tag in (state.performer, state.checker) if tag and tag not in self._tags), "")
        if stranger:
            self._sealed = []  # theirs may be among them; what is due was said before they were there
            return self._end(tell("en", "no agreement of", tag=stranger), state.at_ms)
        if samples is not None and samples.size and _kept_of(event):
            (self._sealed if secret else self._due).append(_Waiting(self._last_n(), samples))
        if isinstance(event, Opened):
            self._due += self._sealed
            self._sealed = []
        return ""

    def settle(self, at_ms: int) -> str:
        """Write one clip that is due, if any: the clip first, then the entry that names it. Returns a sentence when
        the disk does not take it; sound is then kept no more. Raises RecordError as the record does."""
        if not self._due:
            return ""
        clip = self._due.pop(0)
        try:
            told = self._box.put(clip.samples)
        except OSError as fault:
            self._due = []
            return self._end(tell("en", "disk refused", why=fault.strerror), at_ms)
        self._sink.append(SOUND, {**told, "of": clip.of}, at_ms)
        return ""

    def finish(self, at_ms: int) -> None:
        """Write all that is due; what is still under seal is dropped."""
        while self._due:
            self.settle(at_ms)
        self._sealed = []

    def withdraw(self, at_ms: int) -> str:
        """Somebody takes the agreement back: that is durable first, then every clip is destroyed. A sentence to say."""
        self._sink.append(AGREEMENT, {"state": "withdrawn", "why": "asked for"}, at_ms)
        self._keeping, self._withdrawn, self._due, self._sealed = False, True, [], []
        try:
            self._box.keep_only(())
        except OSError as fault:
            return tell("en", "not deleted", why=fault.strerror)
        return tell("en", "deleted")

    def _end(self, why: str, at_ms: int) -> str:
        self._sink.append(AGREEMENT, {"state": "ended", "why": why}, at_ms)
        self._keeping = False
        return tell("en", "no more sound", why=why)


def may_be_kept(hearing: Hearing) -> bool:
    """Whether the sound of an utterance may be: not where more was said than a phrase says, for a name may be in it."""
    return len(hearing.written.split()) <= len((hearing.nearest or "").split())


def _kept_of(event: AnyEvent) -> bool:
    """Not what was said in own words: a name may be among them."""
    said = isinstance(event, Replied | Sealed) and event.how != "own words"
    return said or (isinstance(event, Missed) and event.why == "unclear")
