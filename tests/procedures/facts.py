"""What is particular to one procedure, as data: `facts/NAME.yaml`, each fact with its source.

`ends` tells how each branch ends, `before` what must come before what, `walks` what must follow when somebody goes a
certain way. A walk is moves and looks with `;` between (`going.py` tells them all); several phrases stand with `|`
between. `each` goes the same way with other words; `policy` sets settings, `given` is said where nothing else is.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any

import yaml
from pydantic import BaseModel, BeforeValidator, ConfigDict

from tests.procedures.going import go
from tests.procedures.library import procedure, with_policy
from tests.procedures.walking import Walk

FOLDER = Path(__file__).parent / "facts"
Said = str | tuple[str, ...]
Setting = tuple[str, str, str, dict[str, Said]]
"""Its id, its value, the source, and its `least`, `most` and `choices` where the source gives them."""


class Told(BaseModel):
    """A way through a procedure, and what must follow."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    walk: str
    source: str = ""
    policy: dict[str, str] = {}
    given: dict[str, Said] = {}
    each: tuple[dict[str, str], ...] = ({},)
    between: tuple[str, str] | None = None
    """Gone at each step that is due from one to another, which is `{step}`."""


class Facts(BaseModel):
    """What holds for one procedure."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    sources: str = ""
    like: str = ""
    """Another file that holds too."""
    names: dict[str, str] = {}
    """What `{name}` stands for in the walks of that file."""
    given: dict[str, Said] = {}
    also_under: dict[str, str] = {}
    """A policy under which every branch is gone into as well."""
    not_due: frozenset[str] = frozenset()
    values: dict[str, str] = {}
    ends: dict[str, tuple[str, ...]] = {}
    before: tuple[Annotated[tuple[str, str, str], BeforeValidator(lambda row: [*row, ""][:3])], ...] = ()
    critical: frozenset[str] = frozenset()
    settings: tuple[Annotated[Setting, BeforeValidator(lambda row: [*row, {}][:4])], ...] = ()
    anywhere: tuple[Told, ...] = ()
    """Gone from every main step that is asked."""
    walks: dict[str, Told] = {}

    def endings(self) -> dict[str, str]:
        return {branch: ending for ending, branches in self.ends.items() for branch in branches}


def _read(name: str) -> dict[str, Any]:
    path = FOLDER / f"{name}.yaml"
    # Every scalar is text: `no` is a word here.
    found: dict[str, Any] = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader) if path.exists() else {}
    return found


@lru_cache
def facts(name: str) -> Facts:
    """The facts of a procedure; none where nobody wrote any."""
    own = _read(name)
    shared = _read(own["like"]) if "like" in own else {}
    for key, held in shared.items():
        match held:
            case dict() if key == "ends":
                own[key] = {how: [*held.get(how, ()), *own[key].get(how, ())] for how in {**held, **own[key]}}
            case dict():
                own[key] = {**held, **own.get(key, {})}
            case list():
                own[key] = [*held, *own.get(key, ())]
    return Facts.model_validate(own)


@dataclass(frozen=True)
class Case:
    """One walk of a procedure, with the words that are put into it."""

    name: str
    sentence: str
    told: Told
    words: Mapping[str, str]

    def go(self) -> Walk:
        known, told = facts(self.name), self.told
        names = {**known.names, **self.words}

        def put(text: Any) -> Any:
            return text.format_map(names) if isinstance(text, str) else tuple(each.format_map(names) for each in text)

        policy = {put(key).replace("-", "_"): put(value) for key, value in told.policy.items()}
        script = {**known.given, **{put(key): put(value) for key, value in told.given.items()}}
        found = with_policy(self.name, **policy) if policy else procedure(self.name)
        # What is put in may hold names itself.
        return go(Walk(found, script), put(put(told.walk)))


def cases(name: str) -> Iterator[Case]:
    """The walks of a procedure, each with all its words."""
    for sentence, told in facts(name).walks.items():
        for number, words in enumerate(_each(name, told)):
            yield Case(name, f"{sentence} {number}" if number else sentence, told, words)


def _each(name: str, told: Told) -> list[dict[str, str]]:
    if told.between is None:
        return list(told.each)
    due = [step.id for step in procedure(name).steps if step.id not in facts(name).not_due]
    first, last = (due.index(step) for step in told.between)
    return [{**words, "step": step} for words in told.each for step in due[first : last + 1]]
