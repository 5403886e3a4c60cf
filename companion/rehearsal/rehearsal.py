"""A rehearsal: what a turn means is what the student said in it. It is durable before anything is said about it."""

from collections import Counter
from collections.abc import Mapping

from companion.conversation.room import Room
from companion.conversation.turns import Turns, speak_out
from companion.errors import UsageError
from companion.meaning.ideas import ideas_of
from companion.meaning.likely import TalkReader
from companion.meaning.mention import Mention
from companion.meaning.mentions import mentions
from companion.meaning.sense import senses
from companion.meaning.sounds import meant
from companion.meaning.words import words
from companion.ports.sink import RecordSink
from companion.procedure.kinds.base import Say
from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.record.privacy import talk_held_back
from companion.rehearsal import cues
from companion.rehearsal.closed import hints, sentences
from companion.rehearsal.ear import TalkEar, Utterance
from companion.rehearsal.judging import Hint, Rules, judge
from companion.rehearsal.judging.debrief import summary
from companion.rehearsal.judging.expected import expected_steps
from companion.rehearsal.judging.judge import heeded
from companion.rehearsal.judging.judgeable import unrecognisable, warning
from companion.session.findings import JUDGED, Heard, Judgement, judgement_to_json
from companion.speech.language import tell

UTTERANCE, HINT, BEGUN = "utterance", "hint", "rehearsal"
"""Kinds of entries of a rehearsal's record, beside `judged`."""


class Rehearsal(Turns[Utterance]):
    """Runs until the student has finished. `ear` is None where typing has to do."""

    def __init__(
        self,
        procedure: Procedure,
        rules: Rules,
        room: Room,
        sink: RecordSink,
        ear: TalkEar | None = None,
        reader: TalkReader | None = None,
    ) -> None:
        super().__init__(room, ear, sink, procedure.language)
        self._procedure, self._rules, self._reader = procedure, rules, reader
        self._today = room.clock.utc().date()
        self._performer = ""
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
        self._over = False

    def run(self, performer: str = "") -> Judgement:
        """The whole rehearsal of a student, known by a tag or not, its judgement last. Raises RecordError when the
        record fails."""
        self.begin(performer)
        while not self._over:
            self.turn()
        return self.end()

    def begin(self, performer: str = "") -> None:
        """Write down that it begins, and say so."""
        self._performer = performer
        opening = cues.opening(self._procedure, self._rules.help, len(self._expected))
        body: dict[str, object] = {"help": self._rules.help, "only": list(self._rules.only), "performer": performer}
        body |= {"reader": self._reader.name} if self._reader is not None else {}
        unknown = unrecognisable(self._expected, self._ideas.ways)
        says = [text for text in (opening, warning(self._procedure, self._expected, unknown)) if text]
        body |= {"must_pass": self._rules.must_pass, "unrecognisable": list(unknown), "says": says}
        self._sink.append(BEGUN, body, self.now_ms())
        for text in (*says, self._cue_text()):
            if text:
                self._say(Say(text))
        self._prompts.hold()

    def end(self) -> Judgement:
        """Judge what was said, write it down, and say what to practise."""
        self._over = True
        judgement = self._judged()
        self._sink.append(JUDGED, judgement_to_json(judgement), self.now_ms())
        self._say(Say(summary(judgement, self._language)))
        speak_out(self._prompts, self.room)
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

    # What a turn means

    @property
    def over(self) -> bool:
        return self._over

    def _typed(self, line: str) -> None:
        now = self.now_ms()
        self._take(line.strip(), now, now, "key")

    def _hear(self, uttered: Utterance) -> None:
        if uttered.text:
            now = self.now_ms()
            self._take(uttered.text, now - uttered.began_ms_ago, now - uttered.ended_ms_ago, "voice")

    def _open(self) -> bool:
        self.room.display.listening(())
        return True

    def _alone(self) -> None:
        self._over = True

    def _without_microphone(self, why: str) -> None:
        if not self.room.keys.ended:
            self._fault("microphone", tell(self._language, "type on", why=why))

    # What was said

    def _take(self, text: str, at_ms: int, until_ms: int, by: str) -> None:
        plain = " ".join(word.text for word in words(text))
        prompted = bool(self._cued) and self._due() is not None and not self._told_what_works
        if cues.asks_hint(plain, self._language):
            self._hint()
        elif cues.ends(plain, prompted, self._language):
            self._over = True
        else:
            works = cues.what_works(plain, self._rules.help, prompted, self._language)
            answer = "" if self._told_what_works else works
            self._told_what_works = self._told_what_works or bool(answer)
            self._note(text, max(0, at_ms), max(0, until_ms), by, answer)
        if not self._prompts.quiet:
            self._prompts.hold()
        elif not self._over and self._open():
            self.room.your_turn()

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
        self.room.display.heard(heard.text, by)
        if says:
            self._say(Say(says))

    def _hint(self) -> None:
        step = self._due()
        if step is None:
            says = tell(self._language, "all said")
        else:
            self._asked[step.id] += 1
            says = cues.hint(step, self._asked[step.id], self._language)
            self._hints.append(Hint(step.id, self.now_ms()))
        self._sink.append(HINT, {"step": "" if step is None else step.id, "says": [says]}, self.now_ms())
        self._say(Say(says))

    def _due(self) -> Step | None:
        said = [step for step in self._steps if step in self._expected]
        return cues.due(self._procedure, self._expected, said, said[-1] if said else None)

    def _closed(self, written: str) -> tuple[str, ...]:
        """What may have been said instead of what was written: by the step now due, or for a hint."""
        step = self._due()
        due = () if step is None else sentences(step, written, self._today, self._language)
        return (*due, *hints(written, self._language))

    def _cue_text(self) -> str:
        """The cue for the step now due, once; empty from memory and when it has been given."""
        step = self._due()
        if self._rules.help == "none" or step is None or step.id == self._cued:
            return ""
        self._cued = step.id
        return cues.prompt(step, self._rules.help)


def student_tag(typed: str, named: str = "") -> str:
    """A student's tag, or none. Raises UsageError for what is no tag; `named` is what it is called in that sentence."""
    if typed and not (typed.isascii() and typed.isdigit() and 2 <= len(typed) <= 3):
        raise UsageError(f"`{named}{typed}`: accepted: a tag of two or three digits, never a name")
    return typed
