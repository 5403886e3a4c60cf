"""Asking again, well: after speech that was not taken, and after silence."""

from collections.abc import Container, Iterable
from dataclasses import dataclass

from companion.procedure.kinds.base import Say
from companion.speech.language import tell

_SPOKEN = 4
SILENT_FROM = 3
"""Utterances not taken in a row from which nothing more is said of them."""


@dataclass(frozen=True)
class Offer:
    """A phrase, or the description of a value, that may be said now. `meaning` is the same for phrases that lead to
    the same; an `abnormal` one leads away from the guided order."""

    phrase: str
    meaning: str
    abnormal: bool = False

    @property
    def branch(self) -> str:
        """The branch it takes, or nothing."""
        return self.meaning.removeprefix("branch ") if self.meaning.startswith("branch ") else ""


@dataclass(frozen=True)
class Offers:
    """What may be said now, as people are told of it. `own` answers what is asked; `anywhere` leads out of any step."""

    own: tuple[Offer, ...]
    anywhere: tuple[Offer, ...] = ()
    controls: tuple[str, ...] = ()
    language: str = "en-US"

    def phrases(self) -> tuple[str, ...]:
        """In the order in which they are shown: answers first, the abnormal ones before the others; then one phrase for
        each way that leads out of any step, or an emergency's many words would push the rest away; what ends the work
        stands last."""
        return (*(offer.phrase for offer in (*self._ordered(), *_one_each(self.anywhere))), *self.controls)

    def spoken(self) -> Say:
        """The answers in one sentence: nothing reassuring first. One for each meaning where there are many."""
        own = self._ordered()
        if len(own) > _SPOKEN:
            own = _one_each(own)
        between = tell(self.language, "or")
        said = tell(self.language, "offers", phrases=between.join([offer.phrase for offer in own] or self.controls))
        anywhere = between.join(offer.phrase for offer in _one_each(self.anywhere))
        return Say(said + (tell(self.language, "anywhere", phrases=anywhere) if anywhere else ""), "answer")

    def _ordered(self) -> tuple[Offer, ...]:
        return tuple(sorted(self.own, key=lambda offer: not offer.abnormal))


def why_not(why: str, nearest: str | None, reason: str, phrases: Container[str], language: str) -> str:
    """Why speech was not taken, for people; `why` and `reason` are the recogniser's, in the language it hears. What it
    came nearest to is told only where it is one of `phrases`: the others are near misses it was compared with, and
    nobody may say them."""
    if why == "silence" or nearest is None or nearest in phrases:
        return reason
    return tell(language, "not clear enough" if why == "unclear" else "none of the phrases")


def again(row: int, offers: Offers) -> tuple[Say, ...]:
    """After speech that was not taken; `row` counts this one too. At first a tone has to do; each sentence comes once,
    and then nothing is said until something is taken: it may be talk that is not meant for the program."""
    if row == 2:
        return (offers.spoken(),)
    return (Say(tell(offers.language, "still not taken"), "answer"),) if row == SILENT_FROM else ()


def nudge(question: str, language: str) -> tuple[Say, ...]:
    """After a long silence."""
    return (Say(tell(language, "still here", question=question).rstrip()),)


def _one_each(offers: Iterable[Offer]) -> tuple[Offer, ...]:
    first: dict[str, Offer] = {}
    for offer in offers:
        first.setdefault(offer.meaning, offer)
    return tuple(first.values())
