"""Lines typed on the page count like lines typed on the terminal."""

from queue import Empty, Full, Queue

from companion.conversation.room import LONGEST_TYPED, Keys

_WAITING = 16


class PageKeys:
    """Joins what is typed on the page to `terminal`. While there is a page, typing is never at its end."""

    ended = False

    def __init__(self, terminal: Keys) -> None:
        self._terminal = terminal
        self._lines: Queue[str] = Queue(_WAITING)

    @property
    def interrupts(self) -> bool:
        """A page is a person, but what waits in a pipe must go on answering one question at a time."""
        return self._terminal.interrupts or self._terminal.ended

    def put(self, line: str) -> bool:
        """From the page's thread. False when too many lines wait, or this one is too long."""
        if len(line) > LONGEST_TYPED or not line.isprintable():
            return False
        try:
            self._lines.put_nowait(line)
        except Full:
            return False
        return True

    def poll(self) -> list[str]:
        """At most one line, like the terminal: it counts only for the question that is up when it is taken."""
        try:
            return [self._lines.get_nowait()]
        except Empty:
            return self._terminal.poll()

    def hide(self, hidden: bool) -> None:
        self._terminal.hide(hidden)
