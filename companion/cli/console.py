"""A session on a terminal: what is said and heard, and typed lines."""

import os
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from queue import Empty, SimpleQueue

from companion.cli.terminal import tell
from companion.cli.wrapped import line
from companion.clocks import RealClock
from companion.conversation.parts import E, Parts
from companion.conversation.room import LONGEST_TYPED, Room
from companion.procedure.kinds.base import Say

_MARK = {"prompt": " ", "caution": "!", "answer": " ", "read back": "?", "refusal": "x", "note": "·"}
_SHOWN = 12


class ConsoleDisplay:
    """Plain lines, so that a screen reader or a log can follow."""

    def __init__(self, hears: bool = True) -> None:
        """`hears`: there is a microphone."""
        self._turn = "(listening) " if hears else ""

    def says(self, say: Say) -> None:
        tell(line(say.text, f"{_MARK[say.tone]} "))

    def heard(self, phrase: str, by: str) -> None:
        tell(line(phrase, f"    {'>' if by == 'voice' else '#'} "))

    def missed(self, reason: str) -> None:
        tell(f"    - not taken: {reason}")

    def listening(self, phrases: Sequence[str]) -> None:
        if phrases:
            more = "" if len(phrases) <= _SHOWN else f" | and {len(phrases) - _SHOWN} more"
            tell(f"    {self._turn}[{' | '.join(phrases[:_SHOWN])}{more}]")

    def notice(self, text: str) -> None:
        tell(line(text, "* "))


_KEPT = 8 * LONGEST_TYPED
"""Bytes of a line that has not ended; more of it is refused anyway."""


class StdinKeys:
    """Lines of standard input, read in a thread of their own that ends with the program."""

    def __init__(self) -> None:
        self._lines: SimpleQueue[str | None] = SimpleQueue()
        self._ended = False
        self.interrupts = sys.stdin.isatty()
        self._echo = _Echo()
        threading.Thread(target=self._read, name="keys", daemon=True).start()

    @property
    def ended(self) -> bool:
        return self._ended

    def poll(self) -> list[str]:
        """At most one line: a line counts only for the question that is up when it is taken."""
        try:
            line = self._lines.get_nowait()
        except Empty:
            return []
        if line is None:
            self._ended = True
            return []
        if len(line) > LONGEST_TYPED:
            tell(f"* Not taken: that line is too long; accepted: up to {LONGEST_TYPED} characters")
            return []
        return [line]

    def hide(self, hidden: bool) -> None:
        self._echo.set(not hidden)

    def close(self) -> None:
        self._echo.set(True)

    def _read(self) -> None:
        # Straight from the descriptor: a thread waiting inside sys.stdin would hold its lock when the program
        # ends, and Python aborts on that.
        rest = b""
        try:
            fd = sys.stdin.fileno()
            while data := os.read(fd, 4096):
                *lines, rest = (rest + data).split(b"\n")
                for line in lines:
                    self._lines.put(line.decode("utf-8", "replace").rstrip("\r"))
                rest = rest[:_KEPT]
        except (ValueError, OSError):
            pass  # closed under us: the same as its end
        if rest:
            self._lines.put(rest.decode("utf-8", "replace").rstrip("\r"))
        self._lines.put(None)


class _Echo:
    """Whether the terminal shows what is typed. A figure under seal must not stand on the screen."""

    def __init__(self) -> None:
        self._shown = True

    def set(self, shown: bool) -> None:
        if shown == self._shown or not sys.stdin.isatty():
            return
        self._shown = shown
        try:
            import termios
        except ImportError:
            return  # Windows' console has no such switch here; the figure is then to be spoken
        fd = sys.stdin.fileno()
        flags = termios.tcgetattr(fd)
        flags[3] = flags[3] | termios.ECHO if shown else flags[3] & ~termios.ECHO
        termios.tcsetattr(fd, termios.TCSANOW, flags)


@contextmanager
def terminal_room(parts: Parts[E], clock: RealClock) -> Iterator[Room]:
    """This machine's parts, shown and typed on this terminal; says what is missing, and what installs it."""
    with closing(StdinKeys()) as keys:
        display = ConsoleDisplay(hears=parts.microphone is not None)
        for each in parts.missing:
            display.notice(each)
        yield Room(clock, parts.voice, display, keys, parts.microphone, reader=parts.reader)
