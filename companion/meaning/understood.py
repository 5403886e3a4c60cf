"""What a reply in somebody's own words amounts to: taken, asked back, or nothing.

Phrases that are known whole come first. Then a bare yes or no, which does what a person expects where nothing critical
hangs on it. Then the reader of meanings: what it is sure of is taken, what is likely is asked back closed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, Protocol

from companion.meaning.figures import corrected, values_in
from companion.meaning.named import named, names_all
from companion.meaning.question import BESIDE, Question, told, told_item
from companion.speech.bare import Answer, bare
from companion.speech.speakable import words_of
from companion.speech.value_phrases import phrases_for
from companion.speech.values import ChoiceValue, NumberValue, Value, ValueSpec

How = Literal["phrase", "own words", "asked back"]

SURE, SURE_CRITICAL = 0.6, 0.7
"""Odds (their logarithm) from which a meaning is taken at once."""
LEAD, LEAD_CRITICAL = 0.5, 0.6
"""How far ahead of every other meaning it has to be, and of everything that is no answer."""
LIKELY, LIKELY_LEAD = -1.0, 0.0
"""From where on it is asked back.

All were chosen on the replies of one writer who measures (Q, in `tests/data/replies`): the most that is understood with
at most one in two hundred taken for another meaning. They go with what was taught (`models/catalogue.yaml`).
"""


class MeaningReader(Protocol):
    """Tells how likely it is that words say something."""

    name: str

    def odds(self, said: str, asked: Sequence[str]) -> list[float]:
        """For each text of `asked` (made by `meaning.question`) the logarithm of the odds that `said` says it."""


@dataclass(frozen=True)
class Understood:
    """`meaning` is what was taken; `nearest` what came nearest, which `how` may say is to be asked back."""

    meaning: str | None
    how: How | None
    nearest: str | None = None
    margin: float = 0.0
    """The odds of the nearest over everything else, as a logarithm."""
    bare: bool = False
    """It was a mere yes on something critical: what is asked back needs content."""


NOTHING = Understood(None, None)


def understand(question: Question, said: str, reader: MeaningReader | None, language: str = "en-US") -> Understood:
    """Which of the question's meanings was said."""
    words = words_of(said, language)
    if not words:
        return NOTHING
    for name, phrases in question.meanings.items():
        if any(words == words_of(phrase, language) for phrase in phrases):
            return Understood(name, "phrase", name)
    answer = bare(words, language)
    names = list(question.meanings)
    if answer is not None:
        meant = _by_bare(answer, names)
        if meant is not None and question.critical:
            return Understood(None, "asked back", meant, bare=True)
        if meant is not None:
            return Understood(meant, "own words", meant)
    if reader is None:
        return NOTHING
    asked = [told(question.prompt, name, question.meanings[name]) for name in names]
    return _judged(
        names, reader.odds(words, [*asked, *(told(question.prompt, each) for each in BESIDE)]), question.critical
    )


def _by_bare(answer: Answer, names: Sequence[str]) -> str | None:
    """A bare yes is the meaning that leads on; a bare no the other one, where there is just one other."""
    if answer == "yes":
        return names[0]
    return names[1] if len(names) == 2 else None


def _judged(names: Sequence[str], odds: Sequence[float], critical: bool) -> Understood:
    ranked = sorted(zip(names, odds, strict=False), key=lambda pair: -pair[1])
    (nearest, best), others = ranked[0], [value for _, value in ranked[1:]] + list(odds[len(names) :])
    lead = best - max(others, default=-10.0)
    margin = round(min(best, lead), 2)
    if best >= (SURE_CRITICAL if critical else SURE) and lead >= (LEAD_CRITICAL if critical else LEAD):
        return Understood(nearest, "own words", nearest, margin)
    if best >= LIKELY and lead >= LIKELY_LEAD:
        return Understood(None, "asked back", nearest, margin)
    return Understood(None, None, nearest, margin)


@dataclass(frozen=True)
class Item:
    """One of several things asked at once."""

    about: str
    agrees: Sequence[str]
    differs: Sequence[str]

    @property
    def words(self) -> list[str]:
        """All of its text."""
        return words_of(" ".join((self.about, *self.agrees, *self.differs))).split()


def understand_items(
    prompt: str,
    items: Sequence[Item],
    said: str,
    reader: MeaningReader | None,
    *,
    critical: bool = True,
    at_once: bool = True,
) -> list[Understood]:
    """For each item `agrees`, `differs`, or nothing that was said of it. Where they were not asked `at_once`, somebody
    who says `all` cannot mean them."""
    words = words_of(said)
    found: list[Understood] = []
    meant = named(words.split(), [item.words for item in items])
    if len(items) == 1 or (at_once and names_all(words.split())):
        meant = [clause or words for clause in meant]
    for item, clause in zip(items, meant, strict=True):
        both: Mapping[str, Sequence[str]] = {"agrees": item.agrees, "differs": item.differs}
        phrase = next((name for name, phrases in both.items() if words in map(words_of, phrases)), None)
        if phrase is not None:
            found.append(Understood(phrase, "phrase", phrase))
        elif reader is None or not words or not clause or bare(words) is not None:
            found.append(NOTHING)
        else:
            asked = [told_item(prompt, item.about, name, phrases) for name, phrases in both.items()]
            asked += [told_item(prompt, item.about, name) for name in BESIDE]
            whole = _judged(list(both), reader.odds(words, asked), critical)
            part = whole if clause == words else _judged(list(both), reader.odds(clause, asked), critical)
            found.append(min(whole, part, key=lambda each: each.margin) if part.nearest == whole.nearest else part)
    return found


@dataclass(frozen=True)
class UnderstoodValue:
    """The same for a value."""

    value: Value | None
    how: How | None
    nearest: Value | None = None
    margin: float = 0.0


def understand_value(
    prompt: str, spec: ValueSpec, said: str, reader: MeaningReader | None, today: date, *, language: str = "en-US"
) -> UnderstoodValue:
    """Which value was said, alone or in a sentence. Two different ones are asked about, the last of them."""
    if isinstance(spec, ChoiceValue):
        several = values_in(said, spec, today, language)
        if len(several) > 1 and reader is not None:
            return UnderstoodValue(None, "asked back", several[-1])
        question = Question(prompt, {choice: (choice,) for choice in spec.choices}, critical=True)
        chosen = understand(question, said, reader, language)

        def named(choice: str | None) -> Value | None:
            return None if choice is None else Value(type="choice", text=choice)

        return UnderstoodValue(named(chosen.meaning), chosen.how, named(chosen.nearest), chosen.margin)
    whole = phrases_for(spec, today, language=language).get(words_of(said, language))
    if whole is not None:
        return UnderstoodValue(whole, "phrase", whole)
    found = values_in(said, spec, today, language)
    if not found or reader is None:
        return UnderstoodValue(None, None)
    nearest = found[-1]
    if len(found) > 1 or (isinstance(spec, NumberValue) and corrected(said, spec, language)):
        return UnderstoodValue(None, "asked back", nearest)
    asked = [told(prompt, each) for each in (nearest.written(), *BESIDE)]
    judged = _judged([nearest.written()], reader.odds(words_of(said, language), asked), critical=True)
    return UnderstoodValue(nearest if judged.meaning else None, judged.how, nearest, judged.margin)
