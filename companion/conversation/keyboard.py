"""Typed lines mean what spoken phrases mean."""

from datetime import date

from companion.errors import UsageError
from companion.machine.machine import Machine
from companion.meaning.typed import parse_typed
from companion.procedure.described import alerts_of
from companion.procedure.kinds.base import Phrases
from companion.session.state import State
from companion.speech.language import tell
from companion.speech.speakable import is_english
from companion.speech.values import Value

_SHOWN = 8


def typed_phrase(line: str, allowed: Phrases, machine: Machine, state: State) -> str:
    """The allowed phrase that a typed line stands for: its own words, or a value in figures with its unit.

    Raises UsageError, one sentence saying what is accepted.
    """
    words = " ".join(line.lower().strip(" .!?").split())
    if words in allowed:
        return words
    language = machine.procedure.language
    try:
        value = _value(line, machine, state)
    except UsageError:
        if is_english(language):
            raise
        value = None  # why a writing is no value is told in English only: elsewhere what may be said has to do
    for phrase, meaning in allowed.items():
        if value is not None and meaning.value == value:
            return phrase
    accepted = _listed(machine.offers(state).phrases(), language)
    raise UsageError(tell(language, "no reply here", line=line.strip()[:60], accepted=accepted))


def shown_refusal(refusal: UsageError, hidden: bool, sealed: bool, language: str) -> str:
    """What is shown of a refusal. A figure that was typed once too often would be repeated to whoever must not know it
    yet."""
    return tell(language, "no reply, hidden" if hidden else "no reply, sealed") if hidden or sealed else str(refusal)


def figures_stand(line: str, machine: Machine, state: State) -> bool:
    """Whether each figure in a typed sentence is written as it has to be where it stands alone, with its unit."""
    words = line.strip(" .!?").split()
    for at, word in enumerate(words):
        if any(character.isdigit() for character in word):
            try:
                if _value(" ".join(words[at : at + 2]).strip(".,;!?"), machine, state) is None:
                    return False
            except UsageError:
                return False
    return True


def _value(line: str, machine: Machine, state: State) -> Value | None:
    """The value that a line writes; None where none is asked for. Raises UsageError."""
    spec = machine.spec(state)
    if spec is None:
        return None
    today, alerted = date.fromisoformat(state.today), alerts_of(machine.current(state))
    return parse_typed(spec, line, today, machine.procedure.language, alerted)


def _listed(phrases: tuple[str, ...], language: str) -> str:
    more = "" if len(phrases) <= _SHOWN else tell(language, "more phrases", count=len(phrases) - _SHOWN)
    return "; ".join(phrases[:_SHOWN]) + more
