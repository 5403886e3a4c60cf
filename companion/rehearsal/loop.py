"""The loop of a rehearsal. One thread; what was heard is durable before anything is said about it."""

from collections import Counter
from collections.abc import Callable, Mapping
from datetime import date
from typing import Protocol

from companion.errors import HearingError
from companion.meaning.ideas import ideas_of
from companion.meaning.likely import TalkReader
from companion.meaning.mention import Mention
from companion.meaning.mentions import mentions
from companion.meaning.sense import senses
from companion.meaning.sounds import meant
from companion.meaning.words import words
from companion.ports.clock import Clock
from companion.ports.sink import RecordSink
from companion.ports.sound import Block, Ended, Microphone
from companion.ports.voice import Voice
from companion.procedure.model import Procedure, Step
from companion.record.privacy import held_back, talk_held_back
from companion.rehearsal import cues
from companion.rehearsal.closed import hints, sentences
from companion.rehearsal.ear import TalkEar
from companion.rehearsal.judging import Hint, Rules, judge
from companion.rehearsal.judging.debrief import summary
from companion.rehearsal.judging.expected import expected_steps
from companion.rehearsal.judging.judge import heeded
from companion.rehearsal.judging.judgeable import unrecognisable, warning
from companion.session.findings import JUDGED, Heard, Judgement, judgement_to_json
from companion.voice.prompts import Prompts

UTTERANCE, HINT, BEGUN = "utterance", "hint", "rehearsal"
"""Kinds of entries of a rehearsal's record, beside `judged`."""

_TICK_MS = 20


class Screen(Protocol):
    """Shows what happens; decides nothing."""

    def said(self, text: str) -> None:
        """By the program."""

    def heard(self, text: str, by: str, titles: tuple[str, ...]) -> None:
        """By the student; `titles` are those of the steps that it said."""

    def notice(self, text: str) -> None:
        """A fault outside the rehearsal."""


class Keys(Protocol):
    """Typed lines, without waiting for them."""

    def poll(self) -> list[str]: ...

    @property
    def ended(self) -> bool: ...


def _nothing() -> None:
    """Nobody waits for the student's turn."""


class Rehearsal:
    """Runs until the student has finished. `ear` and `microphone` are None where typing has to do.

    `on_turn` is called each time the student may speak.
    """

    def __init__(
        self,
        procedure: Procedure,
        rules: Rules,
        sink: RecordSink,
        clock: Clock,
        voice: Voice,
        screen: Screen,
        keys: Keys,
        today: date,
        *,
        performer: str = "",
        ear: TalkEar | None = None,
        microphone: Microphone | None = None,
        reader: TalkReader | None = None,
        on_turn: Callable[[], None] = _nothing,
    ) -> None:
        self._procedure, self._rules, self._sink, self._clock = procedure, rules, sink, clock
        self._screen, self._keys, self._today = screen, keys, today
        self._performer, self._ear, self._microphone, self._on_turn = performer, ear, microphone, on_turn
        self._reader = reader
        self._ideas = ideas_of(procedure, rules.only, reader)
        self._expected = list(expected_steps(procedure, rules.only, rules.values))
        self._heard: list[Heard] = []
        if ear is not None:
            ear.closed = self._closed
        self._found: list[Mention] = []
        self._sounds: dict[str, str] = {}
        self._dictated: set[int] = set()
        self._steps: tuple[str, ...] = ()
        self._hints: list[Hint] = []
        self._asked: Counter[str] = Counter()
        self._cued = ""
        self._told_what_works = False
        self._prompts = Prompts(voice, clock, lambda fault: self._fault("voice", fault))
        self._zero_ms = clock.now_ms()
        self._over = False

    def now_ms(self) -> int:
        """The session time."""
        return self._clock.now_ms() - self._zero_ms

    def run(self) -> Judgement:
        """The whole rehearsal, its judgement last. Raises RecordError when the record fails."""
        opening = cues.opening(self._procedure, self._rules.help, len(self._expected))
        body: dict[str, object] = {
            "help": self._rules.help,
            "only": list(self._rules.only),
            "performer": self._performer,
        }
        body |= {"reader": self._reader.name} if self._reader is not None else {}
        unknown = unrecognisable(self._expected, self._ideas.ways)
        says = [text for text in (opening, warning(self._procedure, self._expected, unknown)) if text]
        body |= {"must_pass": self._rules.must_pass, "unrecognisable": list(unknown), "says": says}
        self._sink.append(BEGUN, body, self.now_ms())
        for text in says:
            self._say(text)
        self._cue()
        self._prompts.hold()
        while not self._over:
            self._turn()
        judgement = self._judged()
        self._sink.append(JUDGED, judgement_to_json(judgement), self.now_ms())
        self._say(summary(judgement))
        while not self._prompts.quiet:
            self._prompts.go_on()
            self._clock.wait_ms(_TICK_MS)
        return judgement

    def _judged(self) -> Judgement:
        took_ms = self.now_ms() if not self._heard else self._heard[-1].until_ms
        return judge(
            self._procedure,
            self._heard,
            self._rules,
            took_ms=took_ms,
            hints=self._hints,
            performer=self._performer,
            sounds=self._sounds,
            reader=self._reader,
            dictated=self._dictated,
        )

    # Once round

    def _turn(self) -> None:
        for line in self._keys.poll():
            self._prompts.hush()
            if line.strip():
                now = self.now_ms()
                self._take(line.strip(), now, now, "key")
        self._prompts.go_on()
        self._listen()
        if self._keys.ended and self._microphone is None and self._prompts.quiet:
            self._over = True

    def _say(self, text: str) -> None:
        self._prompts.add(text, lambda: self._screen.said(text))

    def _listen(self) -> None:
        if self._ear is None or self._microphone is None:
            self._open()
            self._clock.wait_ms(_TICK_MS)
            return
        try:
            sound = self._microphone.read(_TICK_MS / 1000)
        except HearingError as fault:
            self._lose_microphone(str(fault))
            return
        if isinstance(sound, Ended):
            self._lose_microphone(f"{self._microphone.name} has no more sound")
        elif isinstance(sound, Block) and self._open():
            uttered = self._ear.hear(sound.samples)
            if uttered is not None and uttered.text:
                now = self.now_ms()
                self._take(uttered.text, now - uttered.began_ms_ago, now - uttered.ended_ms_ago, "voice")

    def _open(self) -> bool:
        """True when the student is heard; the first time after the program has spoken, the ear is opened."""
        if not self._prompts.quiet:
            return False
        if not self._prompts.deaf:
            return True
        if not self._prompts.turn_begins():
            return False
        if self._ear is not None and self._microphone is not None:
            self._microphone.flush()
            self._ear.deafen()
        self._on_turn()
        return False

    # What was said

    def _take(self, text: str, at_ms: int, until_ms: int, by: str) -> None:
        plain = " ".join(word.text for word in words(text))
        prompted = bool(self._cued) and self._due() is not None and not self._told_what_works
        if plain in cues.HINTS:
            self._hint()
        elif cues.ends(plain, prompted):
            self._over = True
        else:
            answer = "" if self._told_what_works else cues.what_works(plain, self._rules.help, prompted)
            self._told_what_works = self._told_what_works or bool(answer)
            self._note(text, max(0, at_ms), max(0, until_ms), by, answer)
        if not self._over and by == "voice":
            if self._prompts.quiet:
                self._on_turn()
            else:
                self._prompts.hold()

    def _note(self, text: str, at_ms: int, until_ms: int, by: str, answer: str) -> None:
        if by == "voice":
            self._sounds |= meant(text, self._ideas)
        heard = Heard(text=talk_held_back(text, self._today), at_ms=at_ms, until_ms=until_ms, n=len(self._heard))
        self._heard.append(heard)
        self._found += mentions(self._ideas, heard, self._sounds)
        before = set(self._steps)
        if by == "voice":
            self._dictated.add(heard.n)
        said = heeded([*self._found, *senses(self._ideas, self._heard)], self._ideas, self._dictated)
        self._steps = said.steps
        new = [step for step in self._steps if step not in before]
        says = self._cue_text() or answer
        body: Mapping[str, object] = {
            "n": heard.n,
            "text": heard.text,
            "from_ms": at_ms,
            "until_ms": until_ms,
            "by": by,
            "noted": [
                {"step": each.step, "words": each.mention.words, "at_ms": each.mention.at_ms}
                for each in said.said
                if each.step in new
            ],
            "steps": new,
            "withdrawn": sorted(before - set(self._steps)),
            "says": [says] if says else [],
        }
        self._sink.append(UTTERANCE, body, self.now_ms())
        self._screen.heard(heard.text, by, tuple(self._procedure.step(step).title for step in new))
        if says:
            self._say(says)

    def _hint(self) -> None:
        step = self._due()
        if step is None:
            says = "Every step has been said. Say that is all when you have finished."
        else:
            self._asked[step.id] += 1
            says = cues.hint(step, self._asked[step.id])
            self._hints.append(Hint(step.id, self.now_ms()))
        self._sink.append(HINT, {"step": "" if step is None else step.id, "says": [says]}, self.now_ms())
        self._say(says)

    def _due(self) -> Step | None:
        said = [step for step in self._steps if step in self._expected]
        return cues.due(self._procedure, self._expected, said, said[-1] if said else None)

    def _closed(self, written: str) -> tuple[str, ...]:
        """What may have been said instead of what was written: by the step now due, or for a hint."""
        step = self._due()
        due = () if step is None else sentences(step, written, self._today, self._procedure.language)
        return (*due, *hints(written))

    def _cue_text(self) -> str:
        """The cue for the step now due, once; empty from memory and when it has been given."""
        step = self._due()
        if self._rules.help == "none" or step is None or step.id == self._cued:
            return ""
        self._cued = step.id
        return cues.prompt(step, self._rules.help)

    def _cue(self) -> None:
        text = self._cue_text()
        if text:
            self._say(text)

    def _fault(self, what: str, detail: str) -> None:
        # The name of a device is its owner's own words.
        self._sink.append("fault", {"what": what, "detail": held_back(detail, self._today)}, self.now_ms())
        self._screen.notice(detail)

    def _lose_microphone(self, why: str) -> None:
        self._microphone = None
        if not self._keys.ended:
            self._fault("microphone", f"{why}; type on, or an empty end of input finishes")
