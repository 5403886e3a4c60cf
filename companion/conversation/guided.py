"""A guided session: what a turn means is the machine's matter. Every event is durable before a word is said of it."""

from collections.abc import Mapping

from companion.conversation.ear import Ear
from companion.conversation.envelope import Envelope
from companion.conversation.keeper import DELETE, Keeper
from companion.conversation.keyboard import typed_phrase
from companion.conversation.room import Room
from companion.conversation.turns import SILENT_MS, Turns
from companion.conversation.twice import Twice
from companion.errors import EventRefused, UsageError
from companion.machine.asking import why_not
from companion.machine.decided import decided, entry_body
from companion.machine.machine import Machine
from companion.ports.clock import Clock
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sink import RecordSink
from companion.ports.sound import Samples
from companion.procedure.kinds.base import Phrases, Say
from companion.session.events import AnyEvent, By, Missed, Replied, Resumed, Sealed, Silent, Started, StepNote, TimeUp
from companion.session.state import State
from companion.speech.writing import cautions

_CUT = "it began before it was your turn"
_HIDDEN_TYPED = "that is not a reply here; accepted: the figure with its unit"
_SEALED_TYPED = "that is not a reply here; it is not repeated, since a figure is still under seal"


class Session(Turns[Hearing]):
    """Runs a machine in a room until it ends.

    `ear` is None where the keyboard does everything; `state` is where a session that is resumed goes on.
    """

    _ear: Ear | None

    def __init__(
        self,
        machine: Machine,
        room: Room,
        sink: RecordSink,
        ear: Ear | None = None,
        state: State | None = None,
        keeper: Keeper | None = None,
    ) -> None:
        super().__init__(room, ear, sink, None if ear is None else ear.spotter)
        self.machine = machine
        self.state = State() if state is None else state
        self._base_ms += self.state.at_ms
        self._envelope = Envelope()
        self._allowed: Phrases = {}
        self._twice = Twice()
        self._keeper = keeper
        self._utterance: Samples | None = None

    # From outside

    def begin(self, event: AnyEvent) -> None:
        """The first event of this run: a start, or a resumption."""
        self._take(event)

    def now_ms(self) -> int:
        return max(self.state.at_ms, super().now_ms())

    @property
    def over(self) -> bool:
        return self.state.ended

    def run(self) -> State:
        """Go on until the session has ended and the last word is said. Raises RecordError when the record fails,
        UsageError when nobody can reply any more."""
        while not self.done:
            self.turn()
        if self._keeper is not None:
            self._keeper.finish(self.now_ms())
        return self.state

    # Events

    def _take(self, event: AnyEvent) -> None:
        """Step the machine, write it down, and only then speak."""
        before, asked, hidden = self.state, self.machine.current(self.state), self._hidden()
        self.state, says = self.machine.step(before, event)
        body = entry_body(event, says, decided(self.machine, before, self.state))
        self._sink.append("event", body, self.state.at_ms)
        if isinstance(event, Missed):
            early = self._ear is not None and self._ear.early
            self._sign("too early" if early else "not taken", near=event.why == "unclear")
        elif isinstance(event, Replied | Sealed):
            self._signs.forget()
        for say in says:
            self._say(say)
        if self._keeper is not None:
            # A second person's voice waits until it is known who they are, and with a figure until it is opened.
            secret = hidden or (asked is not None and asked.checks != "" and not before.here.tag)
            self._notice(self._keeper.took(event, self.state, self._utterance, secret))
        self._next_turn()

    def _next_turn(self) -> None:
        """What may be said next, once the program has fallen silent; deaf until then."""
        self._allowed = self.machine.allowed(self.state)
        if self._keeper is not None and not self.state.ended:
            self._allowed = {**self._allowed, **self._keeper.phrases}
        self._hold()

    def _notice(self, text: str) -> None:
        if text:
            self.room.display.notice(text)

    def _reply(self, phrase: str, by: By, hearing: Hearing | None = None) -> None:
        meaning = self._allowed[phrase]
        if self._keeper is not None and meaning == DELETE:
            self.room.display.heard(phrase, by)
            self._say(Say(self._keeper.withdraw(self.now_ms()), "answer"))
            self._next_turn()
            return
        step = self.machine.current(self.state)
        engine = hearing.engine if hearing else ""
        margin = f"{hearing.margin:.2f}" if hearing else ""
        if meaning.secret and meaning.value is not None and step is not None:
            self.room.display.heard("(hidden)", by)
            seal = self._envelope.put(step.id, meaning.value)
            self._take(Sealed(at_ms=self.now_ms(), seal=seal, by=by, engine=engine, margin=margin))
            return
        self._twice.forget()
        self.room.display.heard(phrase, by)
        self._take(Replied(at_ms=self.now_ms(), phrase=phrase, by=by, engine=engine, margin=margin))

    def _open_seals(self) -> None:
        steps = self.machine.to_open(self.state)
        if steps is None:
            return
        sealed = all(name is None or name in self.state.seals for name in steps)
        if sealed and self._envelope.holds(*steps):
            self._take(self._envelope.open(*steps, self.now_ms()))
        else:
            # A figure went when its step was undone, or with a program that died: both are asked anew.
            self._take(Resumed(at_ms=self.now_ms()))

    def _run_timers(self) -> None:
        if self._ear is not None and self._ear.busy:
            return
        now = self.now_ms()
        for timer, due in sorted(self.machine.timers(self.state).items(), key=lambda pair: pair[1]):
            if due <= now:
                self._take(TimeUp(at_ms=now, timer=timer.text))
                return
        if self._silent_ms() >= SILENT_MS and self.machine.may_nudge(self.state):
            self._take(Silent(at_ms=now))

    # What a turn means

    def _after_voice(self) -> None:
        if self._keeper is not None:
            self._notice(self._keeper.settle(self.now_ms()))

    def _idle(self) -> None:
        self._open_seals()
        self._run_timers()

    def _alone(self) -> None:
        raise UsageError("the input ended before the session did, and there is no microphone to go on with")

    def _without_microphone(self, why: str) -> None:
        self._fault("microphone", f"{why}; the keyboard takes the same words")

    def _row(self) -> tuple[int, bool]:
        return self.state.here.row, self.state.status == "held"

    def _typed(self, line: str) -> None:
        try:
            phrase = typed_phrase(line, self._allowed, self.machine, self.state)
        except UsageError as refusal:
            # A figure that was typed once too often would be repeated to whoever must not know it yet.
            sealed = _SEALED_TYPED if self.state.seals else str(refusal)
            self.room.display.missed(_HIDDEN_TYPED if self._hidden() else sealed)
            return
        for caution in () if self._hidden() or self.state.seals else cautions(line):
            self.room.display.notice(caution)
        self._reply(phrase, "key")

    def _stopped(self) -> None:
        for phrase, meaning in self._allowed.items():
            if meaning.kind == "control" and meaning.arg == "stop":
                self._reply(phrase, "voice")
                return

    def _open(self) -> bool:
        phrases, hidden = tuple(self._allowed), self._hidden()
        self.room.keys.hide(hidden)
        self.room.display.listening(self._offered())
        if self._ear is not None and self._microphone is not None and phrases:
            strict = self.machine.strict(self.state)
            early = frozenset() if strict else early_phrases(self._allowed)
            patient = any(meaning.value is not None for meaning in self._allowed.values())
            expected = Expected(phrases, strict=strict, harmless=self.machine.harmless(self.state))
            self._ear.expect(expected, early, patient)
        return bool(phrases)

    def _hear(self, hearing: Hearing) -> None:
        self._utterance = None if self._ear is None else self._ear.utterance()
        self._meant(hearing)
        self._utterance = None

    def _meant(self, hearing: Hearing) -> None:
        if hearing.verdict == "silence":
            self._pass_by(hearing.reason)
            return
        if hearing.verdict == "accepted" and hearing.phrase is not None:
            try:
                self._reply(hearing.phrase, "voice", hearing)
            except EventRefused as refusal:
                self._fault("refused", str(refusal))
                self._pass_by("it cannot be taken now")
            return
        unclear = hearing.verdict == "unclear"
        if unclear and self._said_twice(hearing):
            self._reply(str(hearing.nearest), "voice", hearing)
            return
        hidden = self._hidden()
        # What a figure under seal sounded like is as much as the figure.
        shown: Phrases = {} if hidden else self._allowed
        told = why_not(hearing.verdict, hearing.nearest, hearing.reason, shown)
        self.room.display.missed(f"{told}; {_CUT}" if self._ear is not None and self._ear.early else told)
        self._take(
            Missed(
                at_ms=self.now_ms(),
                why="unclear" if unclear else "other",
                told=True,
                nearest=hearing.nearest if hearing.nearest in shown else None,
                reason=told,
                engine=hearing.engine,
                margin=f"{hearing.margin:.2f}",
            )
        )

    def _pass_by(self, why: str) -> None:
        """Sound that was no reply at all: shown, and a tone; the ladder is for words."""
        self.room.display.missed(why)
        if self._sign("not taken"):
            self._next_turn()

    def _offered(self) -> tuple[str, ...]:
        """What may be said now, as people are shown it."""
        kept = self._keeper.phrases if self._keeper is not None and not self.state.ended else ()
        return (*self.machine.offers(self.state).phrases(), *kept)

    def _hidden(self) -> bool:
        """Whether what is answered now goes under seal."""
        return any(meaning.secret for meaning in self._allowed.values())

    def _said_twice(self, hearing: Hearing) -> bool:
        meaning = self._allowed.get(hearing.nearest or "")
        if meaning is None or meaning.value is not None:
            return False
        return self._twice.taken(hearing, self.machine.strict(self.state))


def early_phrases(allowed: Phrases) -> frozenset[str]:
    """Phrases that may be taken early: nothing with a value, and nothing that begins another phrase."""
    if any(meaning.value is not None for meaning in allowed.values()):
        return frozenset()
    return frozenset(
        phrase for phrase in allowed if not any(other.startswith(f"{phrase} ") for other in allowed if other != phrase)
    )


def started(performer: str, clock: Clock, mode: str, notes: tuple[StepNote, ...] = ()) -> Started:
    """The event that begins a session now. The day is the local one: labels and orders carry local dates."""
    today = clock.utc().astimezone().date().isoformat()
    body: Mapping[str, object] = {"at_ms": 0, "performer": performer, "today": today, "mode": mode, "notes": notes}
    return Started.model_validate(body)
