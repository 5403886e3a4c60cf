"""What an event changed, as the record tells it: so that many records can be counted without folding each."""

from typing import Any

from companion.session.state import Done, State


def newly_done(before: State, after: State) -> tuple[Done, ...]:
    """Steps that came to stand confirmed, or left out."""
    return tuple(done for done in after.done if done not in before.done)


def undone(before: State, after: State) -> tuple[str, ...]:
    """Ids of steps that stood confirmed and have to be done again."""
    return tuple(done.step for done in before.done if done not in after.done)


def decided(before: State, after: State) -> dict[str, Any]:
    """The part of an entry's body that says so: `done`, a list of `step` and `note`, `undone`, a list of ids, and
    `performer`, the tag once it is known; each only where there is something to say. Folding the events gives the same,
    and counts where they differ."""
    done = [{"step": each.step, "note": each.note} for each in newly_done(before, after)]
    gone = list(undone(before, after))
    who = {"performer": after.performer} if after.performer != before.performer else {}
    return ({"done": done} if done else {}) | ({"undone": gone} if gone else {}) | who
