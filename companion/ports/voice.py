"""The mouth: text in, sound (or the shown text alone) out."""

from typing import Literal, Protocol

Sign = Literal["not taken", "too early"]
"""What a short tone says: speech was not taken, or it came while the program spoke."""


class Speaking(Protocol):
    """One prompt on its way out."""

    def done(self) -> bool:
        """True once the last sample has left the loudspeaker, the prompt was stopped, or the voice failed."""

    def stop(self) -> None:
        """Fall silent at once. Harmless when already done."""

    def fault(self) -> str | None:
        """What went wrong, in one sentence, or None. A voice with a fault has been replaced by text."""


class Voice(Protocol):
    """Says prompts one at a time. Never raises for a voice that died: see `Speaking.fault`."""

    name: str

    def start(self, text: str) -> Speaking:
        """Begin to say `text` (as written; the adapter expands units) and return at once."""

    def sign(self, sign: Sign) -> Speaking:
        """Begin a short soft tone, where there is sound, and return at once."""

    def close(self) -> None: ...
