"""One family of errors. Each message names the culprit, what is accepted, and where."""


class CompanionError(Exception):
    """Base of everything this program raises on purpose; `str()` is one sentence for the user."""


class ProcedureError(CompanionError):
    """A procedure file that cannot be used; `faults` holds every fault found, one `file:line: ...` each."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


class HearingError(CompanionError):
    """A recogniser, model, microphone or sound file that cannot be used."""


class VoiceError(CompanionError):
    """A voice or loudspeaker that cannot be used."""


class RecordError(CompanionError):
    """A session record that cannot be written, read or believed."""


class DoseError(CompanionError):
    """A quantity, strength or device that cannot be worked with safely."""


class Miswritten(DoseError, ValueError):
    """A writing that is refused. `sentence` is the same wherever it is met; what is accepted there may be added."""

    def __init__(self, sentence: str, accepted: str = "") -> None:
        super().__init__(f"{sentence}; accepted: {accepted}" if accepted else sentence)
        self.sentence = sentence
        self.accepted = accepted

    def about(self, text: str, what: str = "", accepted: str = "") -> str:
        """The whole line: `what` it is about, the `text` as given, the sentence, and what is accepted."""
        text = " ".join(text.split())
        lead = "" if not text or self.sentence.startswith(f"`{text}`") else f"`{text[:60]}`: "
        tail = accepted or self.accepted
        return f"{what} {lead}{self.sentence}".lstrip() + (f"; accepted: {tail}" if tail else "")


class ModelError(CompanionError):
    """A model that is unknown, missing, or not what the catalogue says."""


class EventRefused(CompanionError):
    """An event that the machine cannot take in its present state; the state is unchanged."""


class UsageError(CompanionError):
    """Arguments or settings that do not fit."""
