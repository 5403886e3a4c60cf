"""What several commands are given, read alike."""

from datetime import date

from companion.errors import CompanionError
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
