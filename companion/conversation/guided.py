"""A guided session: what a turn means is the machine's matter. Every event is durable before a word is said of it."""

from companion.conversation.ear import Ear
from companion.conversation.envelope import Envelope
from companion.conversation.expecting import expect
from companion.conversation.keeper import DELETE, Keeper, may_be_kept
from companion.conversation.keyboard import figures_stand, shown_refusal, typed_phrase
from companion.conversation.own_words import Meant, OwnWords
from companion.conversation.room import Room
from companion.conversation.turns import SILENT_MS, Turns
from companion.conversation.twice import Twice
from companion.errors import EventRefused, UsageError
from companion.machine.asking import why_not
from companion.machine.decided import decided, entry_body
from companion.machine.machine import Machine
from companion.ports.recogniser import Hearing
from companion.ports.sink import RecordSink
from companion.ports.sound import Samples
from companion.procedure.kinds.base import Phrases, Say
from companion.session.events import AnyEvent, AskedBack, By, How, Missed, Replied, Resumed, Sealed, Silent, TimeUp
from companion.session.state import State
from companion.session.state import replace as state_with
from companion.speech.language import tell
from companion.speech.speakable import words_of
from companion.speech.writing import cautions


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
        super().__init__(room, ear, sink, machine.procedure.language, None if ear is None else ear.spotter)
        self.machine = machine
        self.state = State() if state is None else state
        self._base_ms += self.state.at_ms
        self._envelope = Envelope()
        self._allowed: Phrases = {}
        self._twice = Twice()
        self._own_words = OwnWords(machine, room.reader)
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
        """A phrase was said as it stands."""
        meaning = self._allowed[phrase]
        if self._keeper is not None and meaning == DELETE:
            self.room.display.heard(phrase, by)
            self._say(Say(self._keeper.withdraw(self.now_ms()), "answer"))
            self._next_turn()
            return
        engine, margin = (hearing.engine, f"{hearing.margin:.2f}") if hearing else ("", "")
        before = self.state
        self._answer(phrase, by, "phrase", engine, margin)
        further = self._own_words.further(before, phrase, self.state)
        if further is not None:
            self._mean(further, by, engine)

    def _answer(self, phrase: str, by: By, how: How, engine: str, margin: str, also: tuple[str, ...] = ()) -> None:
        """A phrase that was said or meant is taken."""
        step, meaning, at_ms = self.machine.current(self.state), self._allowed[phrase], self.now_ms()
        if meaning.arg == "right" and self.machine.asked_back(self.state):
            how = "asked back"
        if meaning.secret and meaning.value is not None and step is not None:
            self.room.display.heard("(hidden)", by)
            seal = self._envelope.put(step.id, meaning.value)
            self._take(Sealed(at_ms=at_ms, seal=seal, how=how, by=by, engine=engine, margin=margin))
            return
        self._twice.forget()
        self.room.display.heard("; ".join((phrase, *also)), by)
        self._take(Replied(at_ms=at_ms, phrase=phrase, also=also, how=how, by=by, engine=engine, margin=margin))

    def _in_own_words(self, said: str, by: By, engine: str = "") -> bool:
        """Whether words that are no phrase were taken or asked back."""
        meant = self._own_words.meant(state_with(self.state, at_ms=self.now_ms()), said)
        if meant is not None:
            self._mean(meant, by, engine)
        return meant is not None

    def _mean(self, meant: Meant, by: By, engine: str) -> None:
        """What own words came to is taken or asked back."""
        margin = f"{meant.margin:.2f}"
        if meant.asks:
            self._twice.forget()
            at_ms, phrase, also = self.now_ms(), meant.phrase, meant.also
            self._take(AskedBack(at_ms=at_ms, phrase=phrase, also=also, by=by, engine=engine, margin=margin))
        else:
            self._answer(meant.phrase, by, "own words", engine, margin, meant.also)

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
        self._fault("microphone", tell(self._language, "type replies", why=why))

    def _row(self) -> tuple[int, bool]:
        return self.state.here.row, self.state.status == "held"

    def _typed(self, line: str) -> None:
        try:
            phrase = typed_phrase(line, self._allowed, self.machine, self.state)
        except UsageError as refusal:
            if figures_stand(line, self.machine, self.state) and self._in_own_words(line, "key"):
                return
            self.room.display.missed(shown_refusal(refusal, self._hidden(), bool(self.state.seals), self._language))
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
            expect(self._ear, self._allowed, self.machine.strict(self.state), self.machine.harmless(self.state))
        return bool(phrases)

    def _hear(self, hearing: Hearing) -> None:
        self._utterance = self._ear.utterance() if self._ear is not None and may_be_kept(hearing) else None
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
                self._pass_by(tell(self._language, "not now"))
            return
        unclear = hearing.verdict == "unclear"
        if unclear and self._said_twice(hearing):
            self._reply(str(hearing.nearest), "voice", hearing)
            return
        early = self._ear is not None and self._ear.early
        if hearing.written and not early and not self._is_phrase(hearing.written):
            try:
                if self._in_own_words(hearing.written, "voice", hearing.engine):
                    return
            except EventRefused as refusal:
                self._fault("refused", str(refusal))
        hidden = self._hidden()
        # What a figure under seal sounded like is as much as the figure.
        shown: Phrases = {} if hidden else self._allowed
        told = why_not(hearing.verdict, hearing.nearest, hearing.reason, shown, self._language)
        self.room.display.missed(tell(self._language, "began early", why=told) if early else told)
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

    def _is_phrase(self, written: str) -> bool:
        """Whether it is one of the phrases, which the engine has judged and found not sure enough."""
        return words_of(written, self._language) in self._allowed

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
