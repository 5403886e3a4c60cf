"""What several commands are given, read alike."""

from datetime import date

from companion.errors import CompanionError, UsageError
from companion.machine.machine import Machine
from companion.meaning.typed import parse_typed
from companion.procedure.model import Procedure
from companion.record.privacy import refuse_private


def parse_settings(pairs: list[str]) -> dict[str, str]:
    """`["rub-time=30 s"]` -> `{"rub-time": "30 s"}`. Raises CompanionError naming the one that is not so."""
    found = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or not name.strip():
            raise CompanionError(f'`{pair}` is not a setting; accepted: NAME=VALUE, such as `--set rub-time="30 s"`')
        found[name.strip()] = refuse_private(f"--set {name.strip()}", value.strip(), date.today())
    return found


def performer_tag(procedure: Procedure, typed: str) -> str:
    """The performer's tag as typed; empty when it is to be asked aloud. Raises UsageError for what is no tag: a name
    has no place in a record."""
    if not typed:
        return ""
    try:
        return parse_typed(Machine(procedure).tag(), typed, date(2000, 1, 1), procedure.language).text
    except UsageError as refusal:
        raise UsageError(f"--performer: {refusal}; a record names nobody") from None
