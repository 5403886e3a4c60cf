"""Whatever happens, in whatever order: properties the design promises, tried on random sessions."""

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import EventRefused
from companion.machine.machine import Machine
from companion.procedure.due import is_due
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.kinds.signature import SignatureStep
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.kinds.worked_out import CalculationStep, CheckStep
from companion.procedure.loading import load
from companion.session.events import (
    AnyEvent,
    AskedBack,
    Missed,
    Opened,
    Replied,
    Resumed,
    Sealed,
    Silent,
    Started,
    TimeUp,
)
from companion.session.state import Done, State
from tests.walk import TODAY, Walker

DATA = Path(__file__).parent.parent / "data"
PROCEDURE = load(DATA / "drill.yaml").procedure
DRILLS = (PROCEDURE, load(DATA / "second-look.yaml").procedure)
FIGURES = ("zero point one eight milliliters", "zero point two milliliters")
_REST = ("wait", "miss", "silent", "crash", "nonsense")
LONG = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def _wander(walker: Walker, data: st.DataObject, moves: int) -> None:
    """Do anything that can be done, now and then nonsense, now and then a crash."""
    for _ in range(moves):
        if walker.state.ended:
            return
        kind = data.draw(st.sampled_from(("reply",) * 8 + ("own",) * 3 + ("ask",) * 2 + _REST))
        if kind == "reply":
            walker.reply(data.draw(st.sampled_from(_choices(walker))), data.draw(st.integers(0, 30_000)))
        elif kind == "own":
            also = data.draw(st.sampled_from(((), (), ("birthday agrees",), ("birthday differs",), ("no",))))
            phrase = data.draw(st.sampled_from(_choices(walker)))
            _try(walker, Replied(at_ms=walker.now + 500, phrase=phrase, also=also, how="own words"))
        elif kind == "ask":
            phrase = data.draw(st.sampled_from(["", *_choices(walker)]))
            also = data.draw(st.sampled_from(((), (), ("birthday agrees",), ("birthday differs",))))
            _try(walker, AskedBack(at_ms=walker.now + 500, phrase=phrase, also=also))
        elif kind == "wait":
            walker.wait(data.draw(st.integers(1, 90)))
        elif kind == "miss":
            why, told = data.draw(st.sampled_from(("unclear", "other"))), data.draw(st.booleans())
            walker.take(Missed(at_ms=walker.now + 1, why=why, told=told))
        elif kind == "silent":
            walker.take(Silent(at_ms=walker.now + 1))
        elif kind == "crash":
            walker.interrupt()
        else:
            assert not _try(walker, Replied(at_ms=walker.now, phrase="xyzzy")), "nonsense was taken"


def _choices(walker: Walker) -> list[str]:
    """What may be said, few of the values among it."""
    allowed = walker.machine.allowed(walker.state)
    values = [phrase for phrase, meaning in allowed.items() if meaning.kind == "value"]
    few = [phrase for phrase, meaning in allowed.items() if meaning.kind != "value"] + values[:1] + values[-1:]
    few += [phrase for phrase in ("four one", "five two", "eighteen units") if phrase in allowed]
    return [phrase for phrase in FIGURES if phrase in allowed] * 4 + few


def _try(walker: Walker, event: AnyEvent) -> bool:
    """Whether it is taken; refused, it changes nothing."""
    before = walker.state
    try:
        walker.take(event)
    except EventRefused:
        assert walker.state is before
        return False
    return True


@LONG
@given(st.data())
def test_no_critical_step_is_skipped_and_no_wait_confirmed_early(data: st.DataObject) -> None:
    procedure = data.draw(st.sampled_from(DRILLS))
    walker = Walker(procedure)
    _wander(walker, data, 60)
    done = [entry for entry in walker.state.done if entry.branch is None]
    values = walker.state.values
    order = [step.id for step in procedure.steps if is_due(procedure, values, step) is not False]
    assert [entry.step for entry in done] == order[: len(done)], "the steps due stand in their order, none missing"
    if walker.state.status == "finished":
        assert len(done) == len(order)
    for entry in done:
        step = procedure.step(entry.step)
        assert not (step.critical and entry.note == "left out")
        if isinstance(step, WaitStep):
            since = walker.state.done_at(step.since or "")
            assert since is None or entry.at_ms - since >= step.at_least * 1000


class Said:
    """What was said at each step since it was last asked, by the events alone: a phrase counts when it is replied, or
    asked back and answered right. What is taken back was not said."""

    def __init__(self, walker: Walker) -> None:
        self._walker, self._take = walker, walker.take
        self._at: dict[str, list[str]] = {}
        self._asked, self._to_take_back = tuple[str, ...](), dict[str, list[str]]()
        walker.take = self.take  # type: ignore[method-assign]

    def take(self, event: AnyEvent) -> None:
        walker, before, step = self._walker, self._walker.state, self._walker.step
        allowed = walker.machine.allowed(before)
        self._take(event)
        after, at, back = walker.state, {**self._at}, False
        if isinstance(event, AskedBack) and event.phrase:
            self._asked = event.phrases
        elif isinstance(event, TimeUp | Resumed | Sealed):
            self._asked = ()
            at[step] = [*at.get(step, []), event.seal] if isinstance(event, Sealed) else at.get(step, [])
        elif isinstance(event, Replied):
            control = allowed[event.phrase].arg if allowed[event.phrase].kind == "control" else ""
            if back := control == "wrong" and before.before is not None and not self._asked:
                at = self._to_take_back
            elif not control or (control == "right" and self._asked):
                what, *also = self._asked if control else event.phrases
                value = allowed[what].value
                at[step] = [*at.get(step, []), what if value is None else value.text, *also]
            self._asked = self._asked if control in ("help", "repeat", "why") else ()
        if after.before is not None and after.before is not before.before:
            self._to_take_back = self._at
        for done in after.done[len(before.done) :]:
            self._judge(done, at.get(done.step, []))
        if not back and (after.frames != before.frames or after.here.item < before.here.item):
            at[walker.step] = []
        self._at = at

    def _judge(self, done: Done, said: list[str]) -> None:
        """A critical step that came to stand was said with its content."""
        step = self._walker.machine.procedure.step(done.step)
        if not step.critical:
            return
        match step:
            case IdentificationStep():
                assert all(not set(item.agrees).isdisjoint(said) for item in step.asked_apart), (done, said)
            case ReadingStep() | CheckStep() if step.id in self._walker.state.values:
                assert self._walker.state.values[step.id].text in said, (done, said)
            case CalculationStep() | CheckStep():
                assert len(said) >= 2 and said[-1] == said[-2], "a figure is said twice the same"
            case SignatureStep():
                assert "41" in said, "only the performer signs"
            case _:
                assert done.phrase in said and done.phrase in (*step.confirming, *step.known_by), (done, said)


@LONG
@given(st.data())
def test_a_critical_step_stands_only_where_its_content_was_said(data: st.DataObject) -> None:
    walker = Walker(data.draw(st.sampled_from(DRILLS)))
    Said(walker)
    _wander(walker, data, 80)


@LONG
@given(st.data())
def test_the_first_figure_stays_hidden_until_the_second_is_in(data: st.DataObject) -> None:
    walker = Walker(PROCEDURE)
    seen: list[tuple[AnyEvent, str, str]] = []
    take = walker.take

    def spying(event: AnyEvent) -> None:
        before = dict(walker.state.seals)
        take(event)
        seen.append((event, repr(walker.state) if walker.state.seals or before else "", " ".join(walker.texts())))

    walker.take = spying  # type: ignore[method-assign]
    _wander(walker, data, 60)
    for event, state, said in seen:
        if isinstance(event, Opened | Sealed) and not isinstance(event, Opened):
            assert "0.18" not in event.model_dump_json() and "0.2" not in event.model_dump_json()
        if state and not isinstance(event, Opened):
            for figure in ("'0.18'", "'0.2'", "0.18 mL", "0.2 mL"):
                assert figure not in state and figure not in said


@LONG
@given(st.data())
def test_it_is_never_stuck(data: st.DataObject) -> None:
    walker = Walker(data.draw(st.sampled_from(DRILLS)), performer=data.draw(st.sampled_from(["41", ""])))
    _wander(walker, data, 40)
    way_out = {"held": "end the session", "leaving": "exactly right"}
    for _ in range(3):
        if walker.state.ended:
            return
        phrase = way_out.get(walker.state.status, "stop")
        assert phrase in walker.machine.allowed(walker.state), f"{walker.state.status} at {walker.step}"
        walker.reply(phrase)
    assert walker.state.status == "abandoned"


@LONG
@given(st.data())
def test_folding_the_events_gives_the_same_state(data: st.DataObject) -> None:
    walker = Walker(data.draw(st.sampled_from(DRILLS)))
    _wander(walker, data, 60)
    assert Machine(walker.machine.procedure).fold(walker.events) == walker.state


_ANY = st.one_of(
    st.builds(
        Replied,
        at_ms=st.integers(0, 10**6),
        phrase=st.sampled_from(["rub is in", "yes", "no"]),
        also=st.sampled_from([(), ("name agrees",)]),
        how=st.sampled_from(["own words", "asked back"]),
    ),
    st.builds(AskedBack, at_ms=st.integers(0, 10**6), phrase=st.sampled_from(["", "rub is in", "stop"])),
    st.builds(Replied, at_ms=st.integers(0, 10**6), phrase=st.sampled_from(["stop", "rub is in", "exactly right", ""])),
    st.builds(TimeUp, at_ms=st.integers(0, 10**6), timer=st.sampled_from(["rub/least", "rub/most", "x/y", ""])),
    st.builds(Sealed, at_ms=st.integers(0, 10**6), seal=st.text(max_size=5)),
    st.builds(Opened, at_ms=st.integers(0, 10**6), first=st.text(max_size=5), first_salt=st.text(max_size=5)),
    st.builds(Resumed, at_ms=st.integers(0, 10**6)),
    st.builds(Started, at_ms=st.integers(0, 10**6), performer=st.just("41"), today=st.just(TODAY.isoformat())),
)


@LONG
@given(st.lists(_ANY, max_size=30))
def test_any_events_at_all_are_taken_or_refused_in_a_sentence(events: list[AnyEvent]) -> None:
    machine = Machine(PROCEDURE)
    state = State()
    for event in events:
        try:
            state, _ = machine.step(state, event)
        except EventRefused as refusal:
            assert str(refusal)
