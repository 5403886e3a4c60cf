"""What a state asks for: the phrases that may be said, the timers that run, the seals to be opened."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from companion.machine import moves
from companion.machine.asking import Offer, Offers
from companion.machine.meant import Meant, by_mere_words, grouped, may_be_denied
from companion.procedure.described import alerts_of, choices, described, digits
from companion.procedure.due import is_due
from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Meaning, Phrases, Turn, answers, shown
from companion.procedure.kinds.reading import meanings_of
from companion.procedure.model import Branch, Procedure
from companion.procedure.steps import Step
from companion.session.state import Phase, State
from companion.session.timers import Timer
from companion.speech.bare import bare
from companion.speech.controls import ANSWERS, on_or_end, right_or_wrong, still_so
from companion.speech.language import control_phrases, tell
from companion.speech.language.controls import Control
from companion.speech.values import ChoiceValue, TagValue, ValueSpec

_BESIDE: tuple[Control, ...] = ("help", "repeat", "why")
_CONTROLS: Mapping[str, tuple[Control, ...]] = {
    "naming": _BESIDE,
    "running": (*_BESIDE, "go back", "pause"),
    "held": ("resume", "end", *_BESIDE),
    "leaving": ("right", "wrong", *_BESIDE),
    "restating": ("stands", "falls", *_BESIDE),
}
"""What counts in each state besides "stop", which counts in all of them."""
_HARMLESS: tuple[Control, ...] = ("wrong", *_BESIDE)
_SPOKEN_CHOICES = 8
"""Choices up to which each is told aloud."""


class Asked:
    """Reads the state of one procedure; changes nothing."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.words = control_phrases(procedure.language)
        self._anywhere = tuple(
            sorted(
                (branch for branch in procedure.branches if branch.heard and not branch.at),
                key=lambda branch: not branch.emergency,
            )
        )
        self._heard_anywhere: Phrases = _heard(self._anywhere)
        self._counted_from = {
            branch: [step for step in moves.steps_of(procedure, branch) if step.counted_from]
            for branch in (None, *(branch.id for branch in procedure.branches))
        }

    def allowed(self, state: State) -> Phrases:
        """Every phrase that may be said now, with its meaning."""
        if state.status == "naming":
            own = self._tag_phrases(state)
        else:
            # Where a read-back is answered with "no", no branch means it.
            own = dict(self._heard_anywhere) if state.frames and not state.ended else {}
            if state.status == "running":
                kinds = dict(self._kind_phrases(state))
                own = kinds | {word: to for word, to in (self._here(state) | own).items() if word not in kinds}
        return {**self._taking_back(state), **own, **self._controls(state)}

    def _taking_back(self, state: State) -> Phrases:
        """What takes own words back."""
        if state.before is None:
            return {}
        found = answers("wrong", language=self.procedure.language)
        if not moves.in_emergency(self.procedure, state) and not may_be_denied(self._kind_phrases(state)):
            return found
        return {phrase: to for phrase, to in found.items() if bare(phrase, self.procedure.language) is None}

    def meant(self, state: State) -> Meant:
        """The phrases of a step that is up, by what they mean."""
        turn, found = self.turn_at(state, state.at_ms), self.allowed(state)
        kinds = {phrase for phrase in (*self._kind_phrases(state), *self._here(state)) if phrase in found}
        branches = {found[phrase].arg for phrase in kinds if found[phrase].kind == "branch"}
        own: dict[str, tuple[Meaning, str]] = {}
        anywhere: dict[str, tuple[Meaning, str]] = {}
        for phrase, meaning in found.items():
            if meaning.kind in ("control", "value") or not self._holds(state, meaning):
                continue
            here = phrase in kinds or (meaning.kind == "branch" and meaning.arg in branches)
            apart = KINDS[turn.step.kind].apart(turn.step, phrase) if phrase in kinds else ""
            # An answer that holds only after its branch says what it says, and not that all is well.
            settled = phrase if meaning.kind == "normal" and meaning.arg else apart
            (own if here else anywhere)[phrase] = meaning, settled
        prompt: str = KINDS[turn.step.kind].question(turn, short=bool(turn.step.asked_apart))
        yes, no = by_mere_words({phrase: meaning for phrase, (meaning, _) in own.items()})
        return Meant(
            prompt,
            own=grouped(own, self.procedure),
            anywhere=grouped(anywhere, self.procedure),
            critical=turn.step.critical,
            title=turn.step.title,
            items=turn.step.asked_apart,
            rest=KINDS[turn.step.kind].rest(turn),
            yes=yes,
            no=no,
        )

    def question(self, state: State, short: bool = False) -> str:
        """What is asked now, to be said again; `short` in fewer words."""
        language = self.procedure.language
        last = moves.last_done(self.procedure, state) if state.frames else None
        match state.status:
            case "naming" if state.here.phase == Phase.READ_BACK and state.here.pending is not None:
                tag = shown(state.here.pending, language=language)
                return tell(language, "heard", what=tag, question=right_or_wrong(language))
            case "naming":
                return tell(language, "performer's tag", digits=digits(self.tag(), language))
            case "held":
                return on_or_end(language)
            case "leaving":
                return tell(language, "leaving", question=right_or_wrong(language))
            case "restating" if last is not None:
                given = state.values.get(last.id)
                detail = f", {shown(given, language=language)}" if given is not None else ""
                return tell(language, "last confirmed", title=last.title, detail=detail, question=still_so(language))
            case "running" if state.here.asked_back:
                what = ". ".join(self.told(state, each) for each in state.here.asked_back)
                return tell(language, "asked back", what=what, question=right_or_wrong(language))
            case _:
                turn = self.turn_at(state, state.at_ms)
                asked: str = KINDS[turn.step.kind].question(turn, short)
                return asked

    def asked_back(self, state: State) -> tuple[str, ...]:
        """The phrases of which is asked now whether they were meant, most often one; nothing where none is."""
        return state.here.asked_back if state.status == "running" else ()

    def told(self, state: State, phrase: str) -> str:
        """What a reply is told as: a value in figures, a phrase as it is said."""
        meaning = self.allowed(state).get(phrase)
        if meaning is None or meaning.value is None:
            return phrase[:1].upper() + phrase[1:]
        return shown(meaning.value, language=self.procedure.language)

    def asks_right(self, state: State) -> bool:
        """Whether the program asks right or wrong, of whatever it is."""
        return any(meaning.arg == "right" for meaning in self.allowed(state).values() if meaning.kind == "control")

    def offers(self, state: State) -> Offers:
        """What may be said now, as people are told of it: every phrase of a step's own, one of each control, and of a
        value what kind it is."""
        own: list[Offer] = []
        anywhere: list[Offer] = []
        controls: list[str] = []
        firsts: dict[str, str] = {}
        kinds = self._kind_phrases(state) if state.status == "running" else {}
        asks = ANSWERS if self._asks_itself(state) else ()
        for phrase, meaning in self.allowed(state).items():
            offer = Offer(phrase, f"{meaning.kind} {meaning.arg}", meaning.kind in ("branch", "differs"))
            if meaning.kind == "control":
                if firsts.setdefault(meaning.arg, phrase) == phrase:
                    own.append(offer) if meaning.arg in asks else controls.append(phrase)
            elif phrase not in kinds and any(branch.id == meaning.arg for branch in self._anywhere):
                anywhere.append(offer)
            elif meaning.kind != "value" and self._holds(state, meaning):
                own.append(offer)
        return Offers((*own, *self._values(state)), tuple(anywhere), tuple(controls), self.procedure.language)

    def _holds(self, state: State, meaning: Meaning) -> bool:
        """Whether an answer that counts only after a branch has had it."""
        first = meaning.arg.split() if meaning.kind == "normal" else []
        return not first or not set(first).isdisjoint(state.frames[-1].back_from)

    def _values(self, state: State) -> Iterator[Offer]:
        spec = self.spec(state)
        if spec is None:
            return
        alerted = alerts_of(self.current(state))
        if not isinstance(spec, ChoiceValue):
            yield Offer(described(spec, date.fromisoformat(state.today), alerted, self.procedure.language), "value")
            return
        for phrase, branch in choices(spec, alerted, self.procedure).items():
            each = f"value {phrase}" if len(spec.choices) <= _SPOKEN_CHOICES else "value"
            yield Offer(phrase, f"branch {branch}" if branch else each, bool(branch))

    def strict(self, state: State) -> bool:
        """Whether only what is surely heard may be taken: at critical steps, and where an answer to the program's own
        question, a word or two long, confirms or undoes something."""
        step = self.current(state)
        return self._asks_itself(state) or (step is not None and step.critical)

    def _asks_itself(self, state: State) -> bool:
        """Whether a question of the program's own is answered. Where something can be taken back, none is asked."""
        asked = any(meaning.arg in ANSWERS for meaning in self.allowed(state).values() if meaning.kind == "control")
        return asked and (state.before is None or self.asks_right(state))

    def harmless(self, state: State) -> frozenset[str]:
        """What takes back what was heard, or only has something said: misheard, it is asked again."""
        found = self.allowed(state).items()
        return frozenset(phrase for phrase, meaning in found if meaning.kind == "control" and meaning.arg in _HARMLESS)

    def current(self, state: State) -> Step | None:
        """The step that is asked, or None before the start and after the end."""
        if not state.frames or state.ended:
            return None
        return moves.step_at(self.procedure, state.frames[-1])

    def spec(self, state: State) -> ValueSpec | None:
        """The kind of value asked for now, or None when the reply is a phrase."""
        if state.status == "naming" and state.here.phase == Phase.ASK:
            return self.tag()
        if state.status != "running":
            return None
        turn = self.turn_at(state, state.at_ms)
        spec: ValueSpec | None = KINDS[turn.step.kind].spec(turn)
        return spec

    def may_nudge(self, state: State) -> bool:
        """Whether a long silence deserves a word: not while held, not during a wait, and at most twice a step."""
        waiting = any(timer.in_silence for timer in self.own_timers(state))
        return state.status not in ("new", "held") and not state.ended and state.here.silences < 2 and not waiting

    def to_open(self, state: State) -> tuple[str, str | None] | None:
        """The steps whose seals have to be opened now: the calculation, and its check where there is one."""
        step = self.current(state)
        if step is None or state.status != "running" or state.here.phase != Phase.OPENING:
            return None
        return (step.checks, step.id) if step.checks else (step.id, None)

    def timers(self, state: State) -> Mapping[Timer, int]:
        """Timers that have not run out yet, and the session time in ms at which they do."""
        if state.status not in ("running", "held", "restating"):
            return {}
        due: dict[Timer, int] = {}
        # A wait of a branch matters while the branch is open; one nobody took has nothing to say.
        for branch in dict.fromkeys([None, *(frame.branch for frame in state.frames)]):
            due |= self._counted(state, branch)
        due |= self.own_timers(state)
        return {timer: at for timer, at in due.items() if timer not in state.fired}

    def _counted(self, state: State, branch: str | None) -> dict[Timer, int]:
        """Timers that run already of steps that are not up, in one list of steps."""
        due: dict[Timer, int] = {}
        for step in self._counted_from[branch]:
            ahead: Mapping[Timer, int] = KINDS[step.kind].ahead(step, state)
            if ahead and is_due(self.procedure, state.values, step) is not False:
                due |= ahead
        return due

    def own_timers(self, state: State) -> Mapping[Timer, int]:
        """The present step's timers that have not run out yet."""
        step = self.current(state)
        if step is None or state.status != "running":
            return {}
        due: Mapping[Timer, int] = KINDS[step.kind].timers(self.turn_at(state, state.at_ms))
        return {timer: at for timer, at in due.items() if timer not in state.fired}

    def turn_at(self, state: State, at_ms: int) -> Turn[Step]:
        """The step that is up, at a moment. Only while one is up."""
        step = self.current(state)
        assert step is not None  # callers ask only while a step is up
        return Turn(self.procedure, state, step, at_ms)

    def _controls(self, state: State) -> Phrases:
        names: tuple[Control, ...] = _CONTROLS.get(state.status, ())
        if not names:
            return {}
        if self.asked_back(state) or (state.status == "naming" and state.here.phase == Phase.READ_BACK):
            names = ("right", "wrong", *names)
        step = self.current(state)
        if state.status == "running" and step is not None and not step.critical:
            names = (*names, "leave out")
        return answers(*names, "stop", language=self.procedure.language)

    def _kind_phrases(self, state: State) -> Phrases:
        turn = self.turn_at(state, state.at_ms)
        phrases: Phrases = KINDS[turn.step.kind].phrases(turn)
        return phrases

    def _here(self, state: State) -> dict[str, Meaning]:
        """Of the branches that are heard at this very step only. A read-back is answered first."""
        step = self.current(state)
        if step is None or state.here.phase in (Phase.READ_BACK, Phase.OPENING):
            return {}
        inside = {frame.branch for frame in state.frames}
        return _heard(branch for branch in self.procedure.branches if step.id in branch.at and branch.id not in inside)

    def _tag_phrases(self, state: State) -> dict[str, Meaning]:
        if state.here.phase == Phase.READ_BACK:
            return {}
        turn = Turn(self.procedure, state, self.procedure.steps[0], state.at_ms)
        return dict(meanings_of(turn, self.tag(), digits=True))

    def tag(self) -> TagValue:
        """How staff tags look in this procedure: as its signature asks for them."""
        tags = (step.signed for step in self.procedure.all_steps())
        return next((tag for tag in tags if tag is not None), TagValue(type="tag"))


def _heard(branches: Iterable[Branch]) -> dict[str, Meaning]:
    return {phrase: Meaning("branch", branch.id) for branch in branches for phrase in branch.heard}
