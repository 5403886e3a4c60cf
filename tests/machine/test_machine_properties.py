"""Whatever happens, in whatever order: properties the design promises, tried on random sessions."""

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import EventRefused
from companion.machine.machine import Machine
from companion.procedure.due import is_due
from companion.procedure.loading import load
from companion.procedure.steps import WaitStep
from companion.session.events import AnyEvent, Missed, Opened, Replied, Resumed, Sealed, Silent, Started, TimeUp
from companion.session.state import State
from tests.walk import TODAY, Walker

DATA = Path(__file__).parent.parent / "data"
PROCEDURE = load(DATA / "drill.yaml").procedure
DRILLS = (PROCEDURE, load(DATA / "second-look.yaml").procedure)
FIGURES = ("zero point one eight milliliters", "zero point two milliliters")
LONG = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def _wander(walker: Walker, data: st.DataObject, moves: int) -> None:
    """Do anything that can be done, now and then nonsense, now and then a crash."""
    for _ in range(moves):
        if walker.state.ended:
            return
        kind = data.draw(st.sampled_from(("reply",) * 8 + ("wait", "miss", "silent", "crash", "nonsense")))
        if kind == "reply":
            allowed = walker.machine.allowed(walker.state)
            values = [phrase for phrase, meaning in allowed.items() if meaning.kind == "value"]
            few = [phrase for phrase, meaning in allowed.items() if meaning.kind != "value"] + values[:1] + values[-1:]
            few += [phrase for phrase in ("four one", "five two", "eighteen units") if phrase in allowed]
            choices = [phrase for phrase in FIGURES if phrase in allowed] * 4 + few
            walker.reply(data.draw(st.sampled_from(choices)), data.draw(st.integers(0, 30_000)))
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
            before = walker.state
            try:
                walker.take(Replied(at_ms=walker.now, phrase="xyzzy"))
            except EventRefused:
                assert walker.state is before
            else:
                raise AssertionError("nonsense was taken")


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
