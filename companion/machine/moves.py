"""Going forward, back, into a branch and out of it. Never forward past a step that was not confirmed."""

from companion.procedure.due import is_due
from companion.procedure.model import Procedure
from companion.procedure.steps import Step
from companion.session.state import Frame, Here, State, replace

START = (Frame(None, 0),)


def steps_of(procedure: Procedure, branch: str | None) -> tuple[Step, ...]:
    """The main steps, or those of a branch."""
    return procedure.steps if branch is None else procedure.branch(branch).steps


def step_exists(procedure: Procedure, frame: Frame) -> bool:
    return 0 <= frame.index < len(steps_of(procedure, frame.branch))


def step_at(procedure: Procedure, frame: Frame) -> Step:
    return steps_of(procedure, frame.branch)[frame.index]


def forward(state: State) -> State:
    """One step on in the innermost list; the caller sees whether a step stands there."""
    frame = state.frames[-1]
    return replace(state, frames=(*state.frames[:-1], Frame(frame.branch, frame.index + 1)))


def pass_over(procedure: Procedure, state: State) -> State:
    """On to the first step that is due in the innermost list, from where it stands; or to the list's end."""
    while step_exists(procedure, state.frames[-1]):
        if is_due(procedure, state.values, step_at(procedure, state.frames[-1])) is not False:
            break
        state = forward(state)
    return state


def into_branch(state: State, branch: str) -> State:
    """Start a branch. One that is already open is started over rather than opened inside itself."""
    for depth, frame in enumerate(state.frames):
        if frame.branch == branch:
            return replace(state, frames=(*state.frames[:depth], Frame(branch, 0)))
    return replace(state, frames=(*state.frames, Frame(branch, 0)))


def out_of_branch(state: State) -> State:
    """Back to the step where the branch was taken, which remembers it."""
    *outer, frame, inner = state.frames
    assert inner.branch is not None  # the main steps are in no branch
    return replace(state, frames=(*outer, replace(frame, back_from=(*frame.back_from, inner.branch))))


def broken_off(state: State) -> State:
    """The innermost place remembers that what was last confirmed there has still to be confirmed again."""
    return replace(state, frames=(*state.frames[:-1], replace(state.frames[-1], broken_off=True)))


def settled(state: State) -> State:
    """The innermost place no longer does."""
    return replace(state, frames=(*state.frames[:-1], replace(state.frames[-1], broken_off=False)))


def in_emergency(procedure: Procedure, state: State) -> bool:
    """Whether the innermost list is an emergency's."""
    branch = state.frames[-1].branch
    return branch is not None and procedure.branch(branch).emergency


def out_of_branches(state: State) -> State:
    return replace(state, frames=state.frames[:1])


def back_to(procedure: Procedure, state: State, step_id: str) -> State:
    """Start again from a step of the innermost list that has it: it and all later ones are unconfirmed, their values
    and seals forgotten. A step that was not reached yet is never jumped to. Where it stands outside the branch that is
    open, the branch goes on and comes back to it."""
    depth = len(state.frames) - 1
    for at, frame in enumerate(state.frames):
        if step_id in (step.id for step in steps_of(procedure, frame.branch)):
            depth = at
    frame = state.frames[depth]
    steps = steps_of(procedure, frame.branch)
    ids = [step.id for step in steps]
    index = min(ids.index(step_id), frame.index) if step_id in ids else frame.index
    for step in steps[index : frame.index + 1]:
        # A figure that was opened is no secret any more: to check it again, both are asked anew.
        if step.checks in ids and step.checks not in state.seals and procedure.step(step.checks).worked_out:
            index = min(index, ids.index(step.checks))
    undone = set(ids[index:])
    # A calculation's value appears only when its check opens the seals, so a check that is undone takes it along.
    checked = {step.checks for step in steps[index:] if step.checks}
    undone |= {name for name in checked if procedure.step(name).worked_out}
    return replace(
        state,
        frames=(*state.frames[:depth], Frame(frame.branch, index), *state.frames[depth + 1 :]),
        here=Here() if depth == len(state.frames) - 1 else state.here,
        values={name: value for name, value in state.values.items() if name not in undone},
        seals={name: seal for name, seal in state.seals.items() if name not in undone},
        done=tuple(entry for entry in state.done if entry.step not in undone),
        fired=frozenset(timer for timer in state.fired if timer.step not in undone),
    )


def next_note(state: State, step_id: str) -> State:
    """Start again from a step that has notes: what its note spoke of was tried, so the next one is said, if any."""
    mine = [note for note in state.notes if note.step == step_id]
    given = state.values.get(step_id)
    if len(mine) < 2 or (mine[0].value and (given is None or given.text != mine[0].value)):
        return state
    return replace(state, notes=tuple(note for note in state.notes if note is not mine[0]))


def forget_timers(state: State, step: Step | None) -> State:
    """A step that is asked afresh runs its own timers anew."""
    if step is None:
        return state
    return replace(state, fired=frozenset(timer for timer in state.fired if timer.step != step.id))


def last_done(procedure: Procedure, state: State) -> Step | None:
    """The step that was due before the present one in its own list, which is the last confirmed there."""
    frame = state.frames[-1]
    earlier = steps_of(procedure, frame.branch)[: frame.index]
    return next((step for step in reversed(earlier) if is_due(procedure, state.values, step) is not False), None)


def seal_owner(procedure: Procedure, state: State) -> str | None:
    """The calculation whose figure is sealed and not opened, or None."""
    for name in state.seals:
        return procedure.step(name).checks or name
    return None


def gone_on(before: State, after: State) -> State:
    """Own words can be taken back only while the place to which they led is up."""
    stays = after.before is not before.before or (before.frames, before.status) == (after.frames, after.status)
    return after if stays else replace(after, before=None)


def unasked(state: State) -> State:
    """An answer was given: nothing is asked back any more, and nothing before it can be taken back."""
    return replace(state, here=replace(state.here, asked_back=(), was_asked=(), bare=False), before=None)


def taken(state: State) -> State:
    """Something is taken: what was not is no row any more."""
    return replace(state, here=replace(state.here, row=0))
