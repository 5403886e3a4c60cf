"""The display that a page follows. It shows what another display shows too, and decides nothing."""

from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Protocol

from companion.conversation.room import Display
from companion.machine.machine import Machine
from companion.procedure.kinds.base import Say
from companion.session.state import State
from companion.web.live import Board
from companion.web.snapshot import (
    Asking,
    Doing,
    asking,
    caution_of,
    chooses_site,
    controls_of,
    place_of,
    replies_of,
    timers_of,
    waits,
)

_HEARD = 4
"""The last replies that are kept in view; a page that was away reads what it missed."""


class Followed(Protocol):
    """What is read of a session, in its own thread."""

    machine: Machine
    state: State

    def now_ms(self) -> int: ...


class ScreenDisplay:
    """Passes everything on to `inner`, then makes the whole picture anew and leaves it on `board`.

    A fault in making the picture is told once on `inner` and ends the pictures, never the session.
    """

    def __init__(
        self, inner: Display, board: Board, *, hears: bool, types: bool, site_map: Callable[[State], str]
    ) -> None:
        """`hears`: there is a microphone. `types`: the page takes typed lines. `site_map` draws the body, as SVG."""
        self._inner = inner
        self._board = board
        self._hears = hears
        self._types = types
        self._site_map = site_map
        self._session: Followed | None = None
        self._before = State()
        self._now = State()
        self._said: list[Say] = []
        self._asking = Asking()
        self._shown = Asking()
        self._heard: deque[dict[str, str]] = deque(maxlen=_HEARD)
        self._notice = ""
        self._doing: Doing = "starting"
        self._closed = False
        self._broken = False
        self.drawing = ""
        """The body map that the last picture speaks of; empty where none is shown."""

    def follow(self, session: Followed) -> None:
        """Read this session from now on."""
        self._session = session
        self._publish()

    def says(self, say: Say) -> None:
        self._inner.says(say)
        self._doing = "speaking"
        self._publish(say)

    def heard(self, phrase: str, by: str) -> None:
        self._inner.heard(phrase, by)
        self._heard.append({"what": phrase, "how": "spoken" if by == "voice" else "typed"})
        self._publish()

    def missed(self, reason: str) -> None:
        self._inner.missed(reason)
        self._heard.append({"what": reason, "how": "not taken"})
        self._publish()

    def listening(self, phrases: Sequence[str]) -> None:
        self._inner.listening(phrases)
        self._doing = "listening"
        self._publish()

    def notice(self, text: str) -> None:
        self._inner.notice(text)
        self._notice = text
        self._publish()

    def close(self) -> None:
        """The program stops: the page keeps its last words and says so."""
        self._closed = True
        self._publish()

    def _publish(self, say: Say | None = None) -> None:
        if self._session is None or self._broken:
            return
        try:
            self._board.publish(self._picture(self._session, say))
        except Exception as fault:  # whatever it is, the session goes on without the page
            self._broken = True
            self._inner.notice(f"the page shows no more ({fault}); the voice and the terminal go on")

    def _picture(self, session: Followed, say: Say | None) -> Mapping[str, Any]:
        machine, state = session.machine, session.state
        if state is not self._now:
            self._before, self._now, self._said, self._shown = self._now, state, [], self._asking
        if say is not None:
            self._said.append(say)
        self._asking = asking(machine, self._before, state, self._said, self._shown)
        self.drawing = self._site_map(state) if chooses_site(machine, machine.current(state)) else ""
        hidden = any(meaning.secret for meaning in machine.allowed(state).values())
        replies, small = replies_of(machine, state), controls_of(machine, state)
        return {
            "procedure": machine.procedure.title,
            "language": machine.procedure.language,
            "mode": state.mode,
            "doing": self._state_word(machine, state),
            "place": asdict(place_of(machine, state)),
            **asdict(self._asking),
            "caution": caution_of(machine, state),
            "heard": list(self._heard),
            "timers": [asdict(timer) for timer in timers_of(machine, state, session.now_ms())],
            "replies": [phrase for phrase in replies if phrase not in small],
            "controls": [phrase for phrase in replies if phrase in small],
            "hidden": hidden,
            "types": self._types and not state.ended and not self._closed,
            "closed": self._closed,
            "drawing": bool(self.drawing),
            "notice": self._notice,
        }

    def _state_word(self, machine: Machine, state: State) -> Doing:
        if state.ended:
            return "ended" if state.status == "finished" else "abandoned"
        if self._closed:
            return "closed"
        if state.status in ("held", "leaving"):
            return "held"
        if self._doing != "listening":
            return self._doing
        if waits(machine, state):
            return "waiting"
        return "listening" if self._hears else "typing"
