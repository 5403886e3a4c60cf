"""The program's own questions. Each is made of the phrases that answer it: what a prompt offers is always taken."""

from companion.speech.controls import offered


def right_or_wrong(language: str) -> str:
    """Asked of every read-back."""
    return f"{offered('right', language).capitalize()} or {offered('wrong', language)}?"


def still_so(language: str) -> str:
    """Asked of the last confirmed step after a break."""
    return f"Is that {offered('stands', language)}, or {offered('falls', language)}?"


def on_or_end(language: str) -> str:
    """Said while nothing counts."""
    return f"Say: {offered('resume', language)}; or: {offered('end', language)}."
