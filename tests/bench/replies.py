"""Replies written by many hands, and talks: plain text under `tests/data/replies`, read for teaching and measuring.

`README.md` there tells the format. A file holds the questions it answers, so that the data stands by itself when a
procedure is rewritten.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

DATA = Path(__file__).parents[1] / "data" / "replies"
HEARD = DATA / "heard.jsonl"
"""Some of what teaches, said by synthetic voices, as the scorer wrote it down: `text` and `heard`."""


@dataclass
class Ask:
    """One question, and what was written back: (meaning, words); a meaning of `none: why` is no answer."""

    id: str
    procedure: str
    title: str = ""
    prompt: str = ""
    critical: bool = False
    reason: str = ""
    unit: str = ""
    """Of a value; then the meanings are values."""
    meanings: dict[str, list[str]] = field(default_factory=dict)
    said: list[tuple[str, str]] = field(default_factory=list)

    @property
    def step(self) -> str:
        return self.id.partition(".")[0]


@dataclass
class Together:
    """Words that answer several items of a step: each item -> its meaning's place (0 or 1)."""

    step: str
    said: list[tuple[dict[str, int], str]] = field(default_factory=list)


@dataclass
class Talk:
    """A procedure said from memory: the steps that each utterance says."""

    name: str
    said: list[tuple[list[str], str]] = field(default_factory=list)


@dataclass
class Written:
    """One procedure by one writer."""

    procedure: str
    writer: str
    asks: dict[str, Ask] = field(default_factory=dict)
    together: list[Together] = field(default_factory=list)
    talks: list[Talk] = field(default_factory=list)

    @property
    def steps(self) -> dict[str, Ask]:
        """The first question of each step."""
        first: dict[str, Ask] = {}
        for ask in self.asks.values():
            first.setdefault(ask.step, ask)
        return first


_NONE = {"not yet": "not yet", "question": "asks back", "aside": "to somebody else", "otherwise": "something else"}


def none_as(meaning: str) -> str | None:
    """How the reader calls what is no answer; None for an answer."""
    kind, _, why = meaning.partition(": ")
    return _NONE.get(why, "something else") if kind == "none" else None


class _Reader:
    """Reads a file line by line; what a line is depends on the block that it stands in."""

    def __init__(self) -> None:
        self.found: list[Written] = []
        self._writer = ""
        self._ask: Ask | None = None
        self._block: Together | Talk | None = None
        self._meaning = ""

    def take(self, line: str) -> bool:
        """Whether the line is understood."""
        word, _, rest = line.partition(" ")
        if self._block is not None and "|" in line and word != "procedure":
            self._utterance(self._block, line)
        elif word == "writer":
            self._writer = rest
        elif word == "procedure" and "|" in line:
            self.found.append(Written(rest.partition("|")[0].strip(), self._writer))
            self._ask, self._block = None, None
        elif not self.found or not self._begins(word, rest):
            return self._ask is not None and (self._said if self._meaning else self._told)(self._ask, word, rest, line)
        return True

    def _begins(self, word: str, rest: str) -> bool:
        """Whether the line begins a block, which it then does."""
        of = self.found[-1]
        if word == "ask" and len(rest.split()) == 1:
            self._ask, self._block, self._meaning = of.asks.setdefault(rest, Ask(rest, of.procedure)), None, ""
        elif word == "together" and len(rest.split()) == 1:
            self._ask, self._block = None, Together(rest)
            of.together.append(self._block)
        elif word == "talk" and rest[:1].isdigit():
            self._ask, self._block = None, Talk(rest)
            of.talks.append(self._block)
        else:
            return False
        return True

    @staticmethod
    def _utterance(block: Together | Talk, line: str) -> None:
        marks, words = (part.strip() for part in line.split("|", maxsplit=1))
        if isinstance(block, Together):
            block.said.append(({mark[1:]: int(mark[0] == "-") for mark in marks.split()}, words))
        else:
            block.said.append(([] if marks in ("-", "") else marks.replace(",", " ").split(), words))

    def _told(self, ask: Ask, word: str, rest: str, line: str) -> bool:
        """What is asked."""
        if word in ("title", "prompt", "reason"):
            setattr(ask, word, rest)
        elif line == "critical":
            ask.critical = True
        elif word == "value":
            ask.unit = rest.rsplit(" ", 2)[0]
        elif word == "meaning":
            name, _, phrases = rest.partition("|")
            ask.meanings[name.strip()] = [phrase.strip() for phrase in phrases.split(";") if phrase.strip()]
        else:
            return self._said(ask, word, rest, line)
        return True

    def _said(self, ask: Ask, word: str, rest: str, line: str) -> bool:
        """What was said back."""
        if word == "say" and (rest in ask.meanings or rest.startswith("none: ") or ask.unit):
            self._meaning = rest
        elif self._meaning:
            ask.said.append((self._meaning, line))
        return bool(self._meaning)


def read(path: Path) -> list[Written]:
    """Every procedure of a file. Raises ValueError with the line."""
    reader = _Reader()
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if line.strip() and not reader.take(line.strip()):
            raise ValueError(f"{path}:{number}: `{line.strip()[:50]}` is not understood")
    return reader.found


def all_written(kind: str) -> Iterator[Written]:
    """Everything under `taught` or `measured`."""
    for path in sorted((DATA / kind).glob("*.txt")):
        yield from read(path)
