"""The loop of a session. One thread; every event is durable before anything is said about it."""

from collections.abc import Callable, Mapping

from companion.conversation.display import Display, Keys
from companion.conversation.ear import Ear
from companion.conversation.envelope import Envelope
from companion.conversation.keeper import DELETE, Keeper
from companion.conversation.keyboard import typed_phrase
from companion.conversation.signs import Signs, Spotter
from companion.conversation.twice import Twice
from companion.errors import EventRefused, HearingError, UsageError
from companion.machine.asking import why_not
from companion.machine.decided import decided
from companion.machine.machine import Machine
from companion.ports.clock import Clock
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sink import RecordSink
from companion.ports.sound import Block, Ended, Microphone, Samples
from companion.ports.voice import Sign, Voice
from companion.procedure.kinds.base import Phrases, Say
from companion.procedure.model import CheckStep
from companion.record.privacy import held_back
from companion.session.events import AnyEvent, By, Missed, Replied, Resumed, Sealed, Silent, Started, StepNote, TimeUp
from companion.session.state import State
from companion.speech.writing import cautions
from companion.voice.prompts import Prompts

SILENT_MS = 20_000
"""A nudge after this long without a word."""

_TICK_MS = 20
"""How long a turn of the loop waits for sound or a key."""

_TOO_EARLY = "that came too early, while the program spoke; say it again"
_CUT = "it began before it was your turn"
_HIDDEN_TYPED = "that is not a reply here; accepted: the figure with its unit"
_SEALED_TYPED = "that is not a reply here; it is not repeated, since a figure is still under seal"


def _no_decoys(_: tuple[str, ...]) -> tuple[str, ...]:
    return ()


def _nothing(_: State) -> None:
    """Nobody waits for the performer's turn."""


class Session:
    """Runs a machine on a microphone, a voice and a keyboard until it ends.

    `ear` and `microphone` are None where there is none: the keyboard then does everything. `spotter` is fed what is
    heard while the program speaks. `on_turn` is called each time it is the
    performer's turn; `new_salt` gives at least 128 random bits as text.
    """

    def __init__(
        self,
        machine: Machine,
        sink: RecordSink,
        clock: Clock,
        voice: Voice,
        display: Display,
        keys: Keys,
        new_salt: Callable[[], str],
        *,
        ear: Ear | None = None,
        microphone: Microphone | None = None,
        decoys: Callable[[tuple[str, ...]], tuple[str, ...]] = _no_decoys,
        spotter: Spotter | None = None,
        on_turn: Callable[[State], None] = _nothing,
        state: State | None = None,
        keeper: Keeper | None = None,
    ) -> None:
        self.machine = machine
        self.state = State() if state is None else state
        self._sink = sink
        self.clock = clock
        self._display = display
        self._keys = keys
        self._envelope = Envelope(new_salt)
        self._ear = ear
        self._microphone = microphone
        self._decoys = decoys
        self._spotter = spotter
        self._signs = Signs()
        self._on_turn = on_turn
        self._base_ms = self.state.at_ms - clock.now_ms()
        self._prompts = Prompts(voice, clock, lambda fault: self._fault("voice", fault))
        self._turn_since_ms = 0
        self._allowed: Phrases = {}
        self._faults_told: set[str] = set()
        self._twice = Twice()
        self._keeper = keeper
        self._utterance: Samples | None = None

    # From outside

    def begin(self, event: AnyEvent) -> None:
        """The first event of this run: a start, or a resumption."""
        self._take(event)

    def now_ms(self) -> int:
        """The session time."""
        return max(self.state.at_ms, self._base_ms + self.clock.now_ms())

    def run(self) -> State:
        """Go on until the session has ended and the last word is said. Raises RecordError when the record fails,
        UsageError when nobody can reply any more."""
        while not (self.state.ended and self._prompts.quiet):
            self.turn()
        if self._keeper is not None:
            self._keeper.finish(self.now_ms())
        return self.state

    def turn(self) -> None:
        """Once round: keys, voice, seals, timers, sound."""
        self._type()
        self._prompts.go_on()
        if self._keeper is not None:  # after the voice has begun, so that no reply waits for it
            self._notice(self._keeper.settle(self.now_ms()))
        self._listen()
        if self._prompts.quiet and not self.state.ended:
            self._open_seals()
            self._run_timers()

    # Events

    def _take(self, event: AnyEvent) -> None:
        """Step the machine, write it down, and only then speak."""
        before, asked, hidden = self.state, self.machine.current(self.state), self._hidden()
        self.state, says = self.machine.step(before, event)
        step = self.machine.current(self.state)
        body = {
            "event": event.model_dump(mode="json", exclude_defaults=True) | {"kind": event.kind},
            "says": [{"text": say.text, "tone": say.tone} for say in says],
            "status": self.state.status,
            "step": "" if step is None else step.id,
            **decided(before, self.state),
        }
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
            secret = hidden or (isinstance(asked, CheckStep) and not before.here.tag)
            self._notice(self._keeper.took(event, self.state, self._utterance, secret))
        self._next_turn()

    def _next_turn(self) -> None:
        """What may be said next, once the program has fallen silent; deaf until then."""
        self._allowed = self.machine.allowed(self.state)
        if self._keeper is not None and not self.state.ended:
            self._allowed = {**self._allowed, **self._keeper.phrases}
        self._turn_since_ms = self.now_ms()
        if self._ear is not None:
            self._ear.deafen()
        self._prompts.hold()

    def _say(self, say: Say) -> None:
        self._prompts.add(say.text, lambda: self._display.says(say))

    def _notice(self, text: str) -> None:
        if text:
            self._display.notice(text)

    def _fault(self, what: str, detail: str) -> None:
        """Something outside the procedure went wrong: it is in the record and on the screen, once."""
        if detail not in self._faults_told:
            self._faults_told.add(detail)
            # The name of a device is its owner's own words.
            kept = held_back(detail, self.clock.utc().date())
            self._sink.append("fault", {"what": what, "detail": kept}, self.now_ms())
            self._display.notice(detail)

    def _reply(self, phrase: str, by: By, hearing: Hearing | None = None) -> None:
        meaning = self._allowed[phrase]
        if self._keeper is not None and meaning == DELETE:
            self._display.heard(phrase, by)
            self._say(Say(self._keeper.withdraw(self.now_ms()), "answer"))
            self._next_turn()
            return
        step = self.machine.current(self.state)
        engine = hearing.engine if hearing else ""
        margin = f"{hearing.margin:.2f}" if hearing else ""
        if meaning.secret and meaning.value is not None and step is not None:
            self._display.heard("(hidden)", by)
            seal = self._envelope.put(step.id, meaning.value)
            self._take(Sealed(at_ms=self.now_ms(), seal=seal, by=by, engine=engine, margin=margin))
            return
        self._twice.forget()
        self._display.heard(phrase, by)
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
                self._take(TimeUp(at_ms=now, timer=timer))
                return
        if now - self._turn_since_ms >= SILENT_MS and self.machine.may_nudge(self.state):
            self._take(Silent(at_ms=now))

    # Keys

    def _type(self) -> None:
        if not self._keys.interrupts and self._prompts.deaf:
            return
        for line in self._keys.poll():
            self._prompts.hush()
            if line.strip() and not self.state.ended:
                self._typed(line)
        if self._keys.ended and self._microphone is None and not self.state.ended:
            raise UsageError("the input ended before the session did, and there is no microphone to go on with")

    def _typed(self, line: str) -> None:
        try:
            phrase = typed_phrase(line, self._allowed, self.machine, self.state)
        except UsageError as refusal:
            # A figure that was typed once too often would be repeated to whoever must not know it yet.
            sealed = _SEALED_TYPED if self.state.seals else str(refusal)
            self._display.missed(_HIDDEN_TYPED if self._hidden() else sealed)
            return
        for caution in () if self._hidden() or self.state.seals else cautions(line):
            self._display.notice(caution)
        self._reply(phrase, "key")

    # Sound

    def _listen(self) -> None:
        if self._ear is None or self._microphone is None:
            self._open_ear()
            self.clock.wait_ms(_TICK_MS)
            return
        try:
            sound = self._microphone.read(_TICK_MS / 1000)
        except HearingError as fault:
            self._lose_microphone(str(fault))
            return
        if isinstance(sound, Ended):
            self._lose_microphone(f"{self._microphone.name} has no more sound")
        elif isinstance(sound, Block):
            if sound.lost:
                self._fault("sound", f"{sound.lost} samples of sound were lost: the machine is too busy")
            self._take_block(sound)

    def _take_block(self, block: Block) -> None:
        assert self._ear is not None  # the caller has one
        if self._prompts.speaking:
            if self._spotter is not None and self._spotter.feed(block.samples):
                self._prompts.hush()
                self._spotter.talked()  # what was said before that is of no account now
                self._say_stop()
            return
        if self._prompts.deaf:
            self._open_ear()
            return
        hearing = self._ear.hear(block.samples)
        if self._ear.busy:
            self._turn_since_ms = self.now_ms()
        if hearing is not None:
            self._utterance = self._ear.utterance()
            self._hear(hearing)
            self._utterance = None

    def _say_stop(self) -> None:
        for phrase, meaning in self._allowed.items():
            if meaning.kind == "control" and meaning.arg == "stop":
                self._reply(phrase, "voice")
                return

    def _open_ear(self) -> None:
        """When the program has been silent for the hold-off, it is the performer's turn."""
        if not self._prompts.turn_begins():
            return
        if self._spotter is not None and self._spotter.talked() and not self.state.ended:
            self._display.missed(_TOO_EARLY)
            if self._sign("too early"):
                self._prompts.hold()
                return
        self._turn_since_ms = self.now_ms()
        phrases = tuple(self._allowed)
        self._keys.hide(self._hidden())
        self._display.listening(self._offered())
        if self._ear is not None and self._microphone is not None and phrases:
            self._microphone.flush()
            strict = self.machine.strict(self.state)
            early = frozenset() if strict else early_phrases(self._allowed)
            patient = any(meaning.value is not None for meaning in self._allowed.values())
            self._ear.expect(
                Expected(phrases, self._decoys(phrases), strict, self.machine.harmless(self.state)), early, patient
            )
        if phrases:
            self._on_turn(self.state)

    def _hear(self, hearing: Hearing) -> None:
        self._turn_since_ms = self.now_ms()
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
        self._display.missed(f"{told}; {_CUT}" if self._ear is not None and self._ear.early else told)
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
        self._display.missed(why)
        if self._sign("not taken"):
            self._next_turn()

    def _sign(self, sign: Sign, near: bool = False) -> bool:
        """A tone, where one is due."""
        due = self._signs.due(self.now_ms(), self.state.here.row, self.state.status == "held", sign, near)
        if due:
            self._prompts.sign(sign)
        return due

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

    def _lose_microphone(self, why: str) -> None:
        self._microphone = None
        self._fault("microphone", f"{why}; the keyboard takes the same words")


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
