"""What an ear is told to expect of the phrases that may be said."""

from companion.conversation.ear import Ear
from companion.ports.recogniser import Expected
from companion.procedure.kinds.base import Phrases


def expect(ear: Ear, allowed: Phrases, strict: bool, harmless: frozenset[str]) -> None:
    """From now on one of `allowed`."""
    early = frozenset[str]() if strict else early_phrases(allowed)
    patient = any(meaning.value is not None for meaning in allowed.values())
    ear.expect(Expected(tuple(allowed), strict=strict, harmless=harmless), early, patient)


def early_phrases(allowed: Phrases) -> frozenset[str]:
    """Phrases that may be taken early: nothing with a value, and nothing that begins another phrase."""
    if any(meaning.value is not None for meaning in allowed.values()):
        return frozenset()
    return frozenset(
        phrase for phrase in allowed if not any(other.startswith(f"{phrase} ") for other in allowed if other != phrase)
    )
