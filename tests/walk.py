"""Walks a machine by hand: what a session does, without sound, clocks or files."""

from datetime import date

from companion.machine.machine import Machine
from companion.procedure.kinds.base import Say
from companion.procedure.model import Procedure
from companion.session.events import AnyEvent, Missed, Opened, Replied, Resumed, Sealed, Started, StepNote, TimeUp
from companion.session.seals import seal
from companion.session.state import State
from companion.speech.values import Value

TODAY = date(2030, 3, 4)


class Walker:
    """Holds the state, the events so far, and the figures under seal."""

    def __init__(
        self, procedure: Procedure, performer: str = "41", today: date = TODAY, notes: tuple[StepNote, ...] = ()
    ) -> None:
        self.machine = Machine(procedure)
        self.state = State()
        self.events: list[AnyEvent] = []
        self.says: list[Say] = []
        self.figures: dict[str, Value] = {}
        self.last: tuple[Say, ...] = ()
        self.take(Started(at_ms=0, performer=performer, today=today.isoformat(), notes=notes))

    @property
    def now(self) -> int:
        return self.state.at_ms

    @property
    def step(self) -> str:
        step = self.machine.current(self.state)
        return "" if step is None else step.id

    def take(self, event: AnyEvent) -> None:
        self.state, self.last = self.machine.step(self.state, event)
        self.events.append(event)
        self.says += self.last

    def reply(self, phrase: str, after_ms: int = 500) -> None:
        """Say a phrase; a figure that has to be hidden is sealed, and seals are opened when it is time."""
        at = self.now + after_ms
        meaning = self.machine.allowed(self.state)[phrase]
        if meaning.secret and meaning.value is not None:
            self.figures[self.step] = meaning.value
            self.take(Sealed(at_ms=at, seal=seal(meaning.value, f"salt of {self.step}")))
            self.open()
            return
        self.take(Replied(at_ms=at, phrase=phrase))

    def open(self) -> None:
        steps = self.machine.to_open(self.state)
        if steps is None:
            return
        if any(name is not None and name not in self.state.seals for name in steps):
            self.take(Resumed(at_ms=self.now))
            return
        first, second = steps
        body = {"at_ms": self.now, "first": self.figures[first].text, "first_salt": f"salt of {first}"}
        if second is not None:
            body |= {"second": self.figures[second].text, "second_salt": f"salt of {second}"}
        self.take(Opened.model_validate(body))

    def replies(self, *phrases: str) -> None:
        for phrase in phrases:
            self.reply(phrase)

    def wait(self, seconds: int) -> None:
        """Let time pass, with every timer that runs out in it."""
        until = self.now + seconds * 1000
        while True:
            due = {name: at for name, at in self.machine.timers(self.state).items() if at <= until}
            if not due:
                break
            name = min(due, key=lambda timer: due[timer])
            self.take(TimeUp(at_ms=max(self.now, due[name]), timer=name.text))
        self.take(Missed(at_ms=until, why="other", reason="time passes"))

    def interrupt(self) -> None:
        """The program dies and is started again: what was under seal is gone."""
        self.figures.clear()
        self.take(Resumed(at_ms=self.now + 60_000))

    def heard(self) -> list[str]:
        """Everything said so far."""
        return [say.text for say in self.says]

    def texts(self) -> list[str]:
        return [say.text for say in self.last]
