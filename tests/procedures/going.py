"""The language in which walks are written down: `go` takes a walk through its moves and holds it against its looks.

Moves: `to STEP`, `out of BRANCH`, `end`: on until there, answered by the script or as it should be. `say`, `read` a
value and its read-back, `figure` twice, `check` it as a second person, `answer` as it should be. `reply`: that a wait
is over, however long it was. `wait 40` seconds or `15 min`; `since STEP 40` waits until so long after a step was done.
`keep` and `back`: there the walk begins anew.

Looks: `at` the step that is asked; `in` the innermost branch; `through` all branches so far; `finished`, `abandoned`,
`running`, and with what `outcome`. `hears` what was just said, in that order, `last hears` the last of it, `heard` what
was said since the beginning, `heard times`. `done` steps, `last done`, `done one of`; `asked` steps in the order in
which they first came, `asked times`, `last asked`. A `value` as written, what is `allowed`, or `allowed with` that word
in it; what was `noted` with a step, the reply that was `said`, what is `written` in a step of the file. With `not`
before it, none of what is named holds.
"""

from collections.abc import Callable, Sequence

from companion.procedure.kinds.paced import PacedStep
from companion.procedure.kinds.wait import WaitStep
from tests.procedures.walking import Walk


def go(at: Walk, told: str) -> Walk:
    """Take a walk on as told. Gives where it ends."""
    kept = at.fork()
    for move in (each.strip() for each in told.split(";")):
        verb, rest = _split(move)
        if verb == "keep":
            kept = at.fork()
        elif verb == "back":
            at = kept.fork()
        elif verb in MOVES:
            MOVES[verb](at, rest)
        else:
            where = f"`{move}` at `{at.step}`, {at.status} {at.outcome}: {at.walker.texts()}; asked {at.asked}"
            if move.startswith("not "):
                assert not any(LOOKS[verb](at, [each]) for each in _parts(verb, rest)), where
            else:
                assert LOOKS[verb](at, _parts(verb, rest)), where
    return at


def _split(move: str) -> tuple[str, str]:
    """The verb, without its `not`, and what follows it."""
    plain = move.removeprefix("not ")
    verb = next((each for each in _VERBS if f"{plain} ".startswith(f"{each} ")), None)
    assert verb is not None and (plain == move or verb in LOOKS), f"no such move: `{move}`"
    return verb, plain[len(verb) :].strip()


def _parts(verb: str, text: str) -> list[str]:
    """Names stand between commas, words between `|`."""
    return [each.strip() for each in text.split("," if verb in NAMING else "|")]


def in_order(text: str, words: Sequence[str]) -> bool:
    """Whether all stand there, each after the one before."""
    places = [text.find(each) for each in words]
    return -1 not in places and places == sorted(places)


def _seconds(text: str) -> int:
    return int(text.removesuffix(" min")) * (60 if text.endswith(" min") else 1)


def _since(at: Walk, told: str) -> None:
    name, _, time = told.partition(" ")
    done_ms = at.walker.state.done_at(name)
    assert done_ms is not None, f"`{name}` was not done"
    at.wait(max(0, (done_ms + _seconds(time) * 1000 - at.walker.now) // 1000))


def _reply(at: Walk, _: str) -> None:
    step = at.procedure.step(at.step)
    assert isinstance(step, WaitStep)
    at.say(step.replies[0])


def _text(at: Walk, name: str) -> str:
    """All that the file says in a step."""
    step = at.procedure.step(name)
    told = step.parts if isinstance(step, PacedStep) else ()
    return " ".join([step.say, *told, step.hint or "", step.caution or "", step.reason or ""])


def _counted(told: str) -> tuple[int, str]:
    number, _, rest = told.partition(" ")
    return int(number), rest


def _named(told: Sequence[str]) -> tuple[str, str]:
    name, _, rest = told[0].partition(" ")
    return name, rest


MOVES: dict[str, Callable[[Walk, str], object]] = {
    "to": Walk.to,
    "out of": Walk.out_of,
    "end": lambda at, _: at.to_end(),
    "say": lambda at, told: at.say(*(each.strip() for each in told.split("|"))),
    "read": Walk.read,
    "figure": Walk.figure,
    "check": Walk.check,
    "answer": lambda at, _: at.answer(),
    "reply": _reply,
    "wait": lambda at, told: at.wait(_seconds(told)),
    "since": _since,
}
LOOKS: dict[str, Callable[[Walk, list[str]], bool]] = {
    "at": lambda at, told: [at.step] == told,
    "in": lambda at, told: at.branch == (None if told == ["no branch"] else told[0]),
    "through": lambda at, told: at.branches == told,
    "finished": lambda at, _: at.status == "finished",
    "abandoned": lambda at, _: at.status == "abandoned",
    "running": lambda at, _: at.status == "running",
    "outcome": lambda at, told: in_order(at.outcome, told),
    "hears": lambda at, told: in_order(" ".join(at.walker.texts()), told),
    "last hears": lambda at, told: in_order(at.walker.texts()[-1], told),
    "heard": lambda at, told: in_order(" ".join(at.walker.heard()), told),
    "heard times": lambda at, told: (
        sum(_counted(told[0])[1] in each for each in at.walker.heard()) == _counted(told[0])[0]
    ),
    "done": lambda at, told: set(told) <= set(at.done),
    "done one of": lambda at, told: not set(told).isdisjoint(at.done),
    "last done": lambda at, told: at.done[-len(told) :] == told,
    "asked": lambda at, told: set(told) <= set(at.asked) and sorted(told, key=at.asked.index) == told,
    "asked times": lambda at, told: at.asked.count(_counted(told[0])[1]) == _counted(told[0])[0],
    "last asked": lambda at, told: at.asked[-len(told) :] == told,
    "value": lambda at, told: at.value(_named(told)[0]) == _named(told)[1],
    "allowed": lambda at, told: told[0] in at.walker.machine.allowed(at.walker.state),
    "allowed with": lambda at, told: any(told[0] in each for each in at.walker.machine.allowed(at.walker.state)),
    "noted": lambda at, told: (
        [each.note for each in at.walker.state.done if each.step == _named(told)[0]][-1:] == [_named(told)[1]]
    ),
    "said": lambda at, told: told[0] in [each.phrase for each in at.walker.state.done],
    "written": lambda at, told: in_order(_text(at, _named(told)[0]), [_named(told)[1], *told[1:]]),
}
NAMING = {"through", "done", "done one of", "last done", "asked", "last asked"}
_VERBS = sorted(["keep", "back", *MOVES, *LOOKS], key=len, reverse=True)
