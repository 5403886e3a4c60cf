"""`companion hear` with questions: what a reply in somebody's own words was understood as, and the count of it."""

import time
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Protocol, runtime_checkable

from companion.cli.terminal import tell
from companion.errors import HearingError
from companion.hearing.files import read_sound
from companion.hearing.manifest import Reply
from companion.hearing.tally import quantile, share
from companion.hearing.whole import hear_whole
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.meaning.stand import Answer, Line, answered
from companion.ports.recogniser import Recogniser
from companion.ports.sound import Samples


@runtime_checkable
class Dictates(Protocol):
    """An engine that writes down what was said."""

    def dictate(self, samples: Samples) -> Any: ...


@dataclass
class Understanding:
    """Counts of replies whose truth is known; each item of a line counts by itself."""

    asked: int = 0
    at_once: int = 0
    back: int = 0
    wrong: int = 0
    nothing: int = 0
    taken: int = 0
    decide_s: list[float] = field(default_factory=list)

    def add(self, truth: str | None, answer: tuple[str | None, str | None, str | None], decide_s: float) -> None:
        """`answer` is what was understood, how, and what came nearest."""
        understood, how, nearest = answer
        self.decide_s.append(decide_s)
        if truth is None:
            self.nothing += 1
            self.taken += understood is not None
            return
        self.asked += 1
        self.at_once += understood == truth
        self.wrong += understood not in (None, truth)
        self.back += how == "asked back" and nearest == truth

    def rows(self) -> list[tuple[str, str]]:
        """Label and text of each measure."""
        times = f"median {quantile(self.decide_s, 0.5):.3f} s, 95th percentile {quantile(self.decide_s, 0.95):.3f} s"
        return [
            ("understood at once", share(self.at_once, self.asked)),
            ("asked back rightly", share(self.back, self.asked)),
            ("taken for another meaning", share(self.wrong, self.asked)),
            ("no answer, and taken", share(self.taken, self.nothing)),
            ("decision time", times),
        ]


class Replies:
    """Understands the lines of a manifest that ask something."""

    def __init__(self, language: str, recogniser: Recogniser | None) -> None:
        """`recogniser` is None where all words are typed."""
        self.tally = Understanding()
        self._language, self._recogniser = language, recogniser
        self._reader, missing = open_reader_of_meanings(language)
        if missing:
            tell(missing, err=True)

    def understood(self, reply: Reply) -> dict[str, Any]:
        """What `--json` prints of a line. Raises CompanionError for a recording that cannot be used."""
        line, samples = reply.line, None if reply.path is None else read_sound(reply.path)
        began = time.perf_counter()
        said = line.said or "" if samples is None else self._written(line, samples)
        answer = answered(line, said, self._reader, date.today())
        took = time.perf_counter() - began
        for truth, one in _each(line, answer):
            self.tally.add(truth, one, took)
        return {
            **{"understood": answer.understood, "how": answer.how, "nearest": answer.nearest},
            **{"margin": answer.margin, "decide_s": round(took, 4)},
        }

    def _written(self, line: Line, samples: Samples) -> str:
        """The phrase that was surely said, or else whatever was."""
        if self._recogniser is None or not isinstance(self._recogniser, Dictates):
            raise HearingError(
                f"{line.audio}: own words are written down by the scorer only; companion models fetch scorer"
            )
        if line.phrases():
            heard = hear_whole(self._recogniser, samples, line.phrases(), self._language)
            if heard.verdict == "accepted" and heard.phrase is not None:
                return heard.phrase
        return str(self._recogniser.dictate(samples).text)


def _each(line: Line, answer: Answer) -> list[tuple[str | None, tuple[str | None, str | None, str | None]]]:
    """Truth and answer of the line, or of each of its items."""
    parts = (line.truth, answer.understood, answer.how, answer.nearest)
    columns = [part if isinstance(part, list) else [part] * max(1, len(line.items)) for part in parts]
    return [(truth, (understood, how, nearest)) for truth, understood, how, nearest in zip(*columns, strict=True)]
