"""The screen of a rehearsal that a page follows. It shows no more than the voice says: from memory more is a cue."""

from collections import deque
from collections.abc import Sequence
from typing import Any

from companion.conversation.room import Display
from companion.procedure.kinds.base import Say
from companion.procedure.model import Procedure
from companion.session.findings import Finding, Judgement
from companion.speech.language import asides_of, tell
from companion.web.live import Board
from companion.web.snapshot import Doing

_HEARD = 4
_QUOTED = 2
"""The last utterances stand in large type until the program says something."""
_FINDINGS = 6
"""More than these are only counted; the report has them all."""


class RehearsalScreen:
    """Passes everything on to `inner`, then leaves the whole picture on `board`."""

    def __init__(
        self, inner: Display, board: Board, procedure: Procedure, level: str, *, hears: bool, types: bool
    ) -> None:
        self._inner = inner
        self._board = board
        self._procedure = procedure
        self._language = procedure.language
        self._level = tell(self._language, f"level {level}").capitalize()
        self._hears = hears
        self._types = types
        self._doing: Doing = "starting"
        self._said: tuple[str, ...] = ()
        self._remark = ""
        self._heard: deque[dict[str, str]] = deque(maxlen=_HEARD)
        self._utterances = 0
        self._notice = ""
        self._closed = False
        self._publish()

    def says(self, say: Say) -> None:
        self._inner.says(say)
        self._doing, self._said = "speaking", (say.text,)
        self._publish()

    def heard(self, phrase: str, by: str) -> None:
        self._inner.heard(phrase, by)
        self._heard.append({"what": phrase, "how": "spoken" if by == "voice" else "typed"})
        self._utterances += 1
        self._said = tuple(f"“{each['what']}”" for each in list(self._heard)[-_QUOTED:])
        self._publish()

    def missed(self, reason: str) -> None:
        self._inner.missed(reason)

    def listening(self, phrases: Sequence[str]) -> None:
        """The student may speak."""
        self._inner.listening(phrases)
        self._doing = "listening" if self._hears else "typing"
        self._publish()

    def notice(self, text: str) -> None:
        self._inner.notice(text)
        self._notice = text
        self._publish()

    def judged(self, judgement: Judgement) -> None:
        """It is over: what was found, the critical first."""
        self._doing = "ended" if judgement.outcome == "passed" else judgement.outcome
        found = sorted(judgement.findings, key=lambda finding: not finding.critical)
        shown = [self._told(each) for each in found[:_FINDINGS]]
        more = len(found) - len(shown)
        self._said = tuple(shown) or (tell(self._language, "no findings"),)
        self._remark = tell(self._language, "more findings", more=more) if more else ""
        self._publish()

    def _told(self, finding: Finding) -> str:
        reason = finding.reason
        return tell(self._language, "critical finding", reason=reason) if finding.critical else reason

    def close(self) -> None:
        """The program stops."""
        self._closed = True
        if not self._over:
            self._doing = "closed"
        self._publish()

    @property
    def _over(self) -> bool:
        return self._doing in ("ended", "not passed", "undecided", "not judged")

    def _publish(self) -> None:
        said = tell(self._language, "so many heard", count=self._utterances) if self._utterances else ""
        body: dict[str, Any] = {
            "procedure": self._procedure.title,
            "language": self._language,
            "mode": "rehearsal",
            "doing": self._doing,
            "place": {"title": self._procedure.title, "where": said, "branch": self._level, "critical": False},
            "instruction": "",
            "asked": list(self._said),
            "remark": self._remark,
            "tone": "note",
            "caution": "",
            "heard": list(self._heard),
            "timers": [],
            "replies": [] if self._over else list(asides_of(self._language).offered),
            "controls": [],
            "hidden": False,
            "types": self._types and not self._over and not self._closed,
            "closed": self._closed,
            "drawing": False,
            "notice": self._notice,
        }
        self._board.publish(body)
