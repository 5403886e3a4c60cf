"""What words that are no phrase come to at a moment of a guided session: taken, asked back, or nothing.

Of the program's own phrases only the answers to its own questions are meant by other words, and only by a mere yes or
no. Nothing is taken that the machine would refuse or that would end the session. The words are looked at and forgotten,
those that answered a reading once what they say of the next has been looked at.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from companion.errors import EventRefused
from companion.machine import meant as asked
from companion.machine.machine import Machine
from companion.meaning.named import named, says_no_more
from companion.meaning.question import Question, told
from companion.meaning.understood import Item, MeaningReader, understand, understand_items, understand_value
from companion.procedure.step_parts import Item as Compared
from companion.session.events import AskedBack, Replied
from companion.session.state import State
from companion.speech.bare import Answer, bare, says_right
from companion.speech.language.controls import Control
from companion.speech.speakable import words_of
from companion.speech.values import ChoiceValue, NumberValue, ValueSpec

_YES: tuple[Control, ...] = ("right", "stands")
_NO: tuple[Control, ...] = ("wrong", "falls")


@dataclass(frozen=True)
class Meant:
    """What is to be done: `phrase` is taken, or with `asks` asked back. Without one it was a mere yes or no, to be
    answered by what counts. `margin` is the reader's."""

    phrase: str
    asks: bool = False
    margin: float = 0.0
    also: tuple[str, ...] = ()
    """What the same words answered besides."""


_BY_WHAT_COUNTS = Meant("", asks=True)


class OwnWords:
    """Understands the words of one machine's sessions. Without a reader only a mere yes or no."""

    def __init__(self, machine: Machine, reader: MeaningReader | None) -> None:
        self._machine = machine
        self._reader = reader
        self._language = machine.procedure.language
        self._last = ""
        """Words that answered a reading, until its read-back is answered."""

    def meant(self, state: State, said: str) -> Meant | None:
        """What `said` comes to in a state; None where nothing was surely or likely meant."""
        self._last = ""
        words = words_of(said, self._language)
        answer = bare(words, self._language)
        if answer is not None and (phrase := self._control(state, answer, words)):
            return Meant(phrase)
        if state.status != "running":
            return self._urgent(state, said) if state.frames and answer is None else None
        meant, spec = self._machine.meant(state), self._machine.spec(state)
        if answer is not None:
            found: Meant | None = self._by_mere_word(meant, answer)
        elif spec is not None:
            found = self._value(state, meant, said, spec) or self._phrase(meant, said, critical=True)
            self._last = said if self._reads(state) else ""
        else:
            found = self._several(meant, said) or self._phrase(meant, said, meant.critical)
        if found is not None and (found.phrase,) == state.here.asked_back and self._machine.urgent(state, found.phrase):
            found = replace(found, asks=False)  # of an emergency the same once more is answer enough
        return None if found is None else self._checked(state, found)

    def further(self, before: State, phrase: str, state: State) -> Meant | None:
        """What the words that answered a reading say of the one that is asked next ("eighteen units of rapid acting"),
        once what they were taken for is right. It is heard back in its turn."""
        said, self._last = self._last, ""
        answered, last = self._machine.allowed(before)[phrase].arg == "right", self._machine.current(before)
        spec = self._machine.spec(state) if state.status == "running" else None
        if not said or not answered or last is None or spec is None or last.id not in state.values:
            return None
        if not self._reads(state) or before.frames == state.frames or _alike(last.stated, spec):
            return None
        found = self._value(state, self._machine.meant(state), said, spec)
        if found is None or self._machine.allowed(state)[found.phrase].value == state.values[last.id]:
            return None
        return self._checked(state, replace(found, asks=True))

    def _urgent(self, state: State, said: str) -> Meant | None:
        """Where nothing counts an emergency still does."""
        found = self._phrase(self._machine.meant(state), said, critical=True)
        if found is None or found.asks or not self._machine.urgent(state, found.phrase):
            return None
        return self._checked(state, found)

    def _reads(self, state: State) -> bool:
        """Whether the performer reads a value off, nothing that is kept secret or that somebody else has to find."""
        step = self._machine.current(state)
        return step is not None and step.stated is not None and not step.worked_out and not step.checks

    def _control(self, state: State, answer: Answer, words: str) -> str:
        """A mere yes or no answers the program's own question, a yes where it says that something is right, and a no
        takes back what was taken last. What ends a session unfinished is said as it stands."""
        yes = _YES if state.status != "leaving" and says_right(words) else ()
        controls = _NO if answer == "no" else yes
        found = {phrase: each for phrase, each in self._machine.allowed(state).items() if each.kind == "control"}
        said = (phrase for phrase, each in found.items() if each.arg in controls)
        return next((phrase for phrase in said if bare(phrase, self._language) is not None), "")

    def _by_mere_word(self, meant: asked.Meant, answer: Answer) -> Meant:
        phrase = meant.yes if answer == "yes" else meant.no
        return Meant(phrase) if phrase and not meant.critical else _BY_WHAT_COUNTS

    def _several(self, meant: asked.Meant, said: str) -> Meant | None:
        """As much of what the step still asks as was named and said, from what is asked now on."""
        if self._reader is None or len(meant.rest) < 2:
            return None
        lead = understand(Question(meant.prompt, {**meant.own, **meant.anywhere}, critical=True), said, self._reader)
        if lead.nearest in meant.anywhere:
            return None  # somebody may be in need
        items = _items(meant.rest)
        found = understand_items(meant.title, items, said, self._reader, at_once=False)
        phrases: list[str] = []
        margin = 0.0
        for item, each in zip(items, found, strict=True):
            if each.meaning is None:
                break
            phrases.append((item.agrees if each.meaning == "agrees" else item.differs)[0])
            margin = min(margin, each.margin) if phrases[1:] else each.margin
            if each.meaning != "agrees":
                break
        if len(phrases) < 2:
            return None
        surely = says_no_more(words_of(said, self._language).split(), [each.words for each in items])
        return Meant(phrases[0], asks=not surely, margin=margin, also=tuple(phrases[1:]))

    def _phrase(self, meant: asked.Meant, said: str, critical: bool) -> Meant | None:
        groups = {**meant.own, **meant.anywhere}
        if not groups or _of_another(meant, words_of(said, self._language)):
            return None
        question = Question(meant.prompt, groups, critical)
        found = understand(question, said, self._reader, self._language)
        if found.how == "own words" and found.meaning in meant.anywhere and not critical:
            # What leads away from any step has to be as sure as at a critical one.
            found = understand(replace(question, critical=True), said, self._reader, self._language)
        if found.how == "phrase" or found.how is None or found.nearest is None:
            return None  # what is a phrase was judged as one already
        return Meant(self._wording(question, found.nearest, said), found.how == "asked back", found.margin)

    def _wording(self, question: Question, name: str, said: str) -> str:
        """Of the phrases of one meaning the nearest: each may say it with a difference."""
        phrases = question.meanings[name]
        if len(phrases) == 1 or self._reader is None:
            return phrases[0]
        texts = [told(question.prompt, name, [phrase]) for phrase in phrases]
        odds = self._reader.odds(words_of(said, self._language), texts)
        return max(zip(odds, phrases, strict=True), key=lambda pair: pair[0])[1]

    def _value(self, state: State, meant: asked.Meant, said: str, spec: ValueSpec) -> Meant | None:
        today = date.fromisoformat(state.today)
        found = understand_value(meant.prompt, spec, said, self._reader, today, language=self._language)
        if found.how not in ("own words", "asked back"):
            return None
        # Few choices where nothing critical hangs on them are as good as phrases; any other value is heard back first.
        asks = found.how == "asked back" or meant.critical or not isinstance(spec, ChoiceValue)
        said = words_of(said, self._language)
        for phrase, meaning in self._machine.allowed(state).items():
            if meaning.secret and f" {phrase} " not in f" {said} ":
                continue  # nobody reads it back, so its unit is said too
            if meaning.value is not None and meaning.value == found.nearest:
                # A figure under seal is never heard back, but said twice.
                return Meant(phrase, found.how == "asked back" if meaning.secret else asks, found.margin)
        return None

    def _checked(self, state: State, found: Meant) -> Meant | None:
        """As the machine takes it: what it reads back anyway is not asked back first, and what would end the session
        is."""
        machine, at_ms = self._machine, state.at_ms
        if found.phrase:
            if machine.allowed(state)[found.phrase].secret:
                return None if found.asks else found
            try:
                after, _ = machine.step(
                    state, Replied(at_ms=at_ms, phrase=found.phrase, also=found.also, how="own words")
                )
            except EventRefused:
                return None
            if machine.asks_right(after):
                return replace(found, asks=False)
            if not found.asks and not after.ended:
                return found
        try:
            machine.step(state, AskedBack(at_ms=at_ms, phrase=found.phrase, also=found.also))
        except EventRefused:
            return None
        return replace(found, asks=True)


def _of_another(meant: asked.Meant, said: str) -> bool:
    """Whether words name another of the things that a step compares, and not the one that is asked."""
    if not meant.rest:
        return False
    found = named(said.split(), [each.words for each in _items(meant.items)])
    return any(found) and not found[len(meant.items) - len(meant.rest)]


def _items(asked_apart: Sequence[Compared]) -> list[Item]:
    return [Item(each.say, each.agrees, each.differs) for each in asked_apart]


def _alike(one: ValueSpec | None, other: ValueSpec) -> bool:
    """Whether what was read of one thing could be taken for the other."""
    units = [each.unit if isinstance(each, NumberValue) else "" for each in (one, other)]
    return type(one) is type(other) and units[0] == units[1]
