"""Puts another place under what was walked in a branch."""

from companion.procedure.proving.alike import Likeness
from companion.session.state import Frame, State, replace


def over(
    likeness: Likeness, below: tuple[Frame, ...], entered: State, inner: State, depth: int, walked_ms: int
) -> State:
    """`inner` with the frames of another caller below, who entered at `entered` what was walked from `walked_ms`.

    What belongs to the lists that come up inside the branch is as it was walked; the rest is the other caller's.
    """
    home = likeness.reach.home
    inside = likeness.inside(inner.frames[: depth + 1])
    later_ms = walked_ms - entered.at_ms
    done = [
        *(replace(entry, at_ms=entry.at_ms + later_ms) for entry in entered.done if home[entry.step] not in inside),
        *(entry for entry in inner.done if home[entry.step] in inside),
    ]
    values = {name: value for name, value in entered.values.items() if home[name] not in inside}
    values |= {name: value for name, value in inner.values.items() if home[name] in inside}
    seals = {name: seal for name, seal in entered.seals.items() if name in inner.seals and home[name] not in inside}
    seals |= {name: seal for name, seal in inner.seals.items() if home[name] in inside}
    times = {name: count for name, count in entered.entered.items() if name not in inside}
    times |= {name: count for name, count in inner.entered.items() if name in inside}
    fired = [timer for timer in entered.fired if not likeness.belongs(timer, inside)]
    fired += [timer for timer in inner.fired if likeness.belongs(timer, inside)]
    return replace(
        inner,
        frames=(*below, *inner.frames[depth:]),
        done=tuple(done),
        values=values,
        seals=seals,
        entered=times,
        fired=frozenset(fired),
    )
