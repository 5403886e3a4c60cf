"""The one gate for free text: what may tell who somebody is does not enter a record.

Looked for: names, dates of birth, numbers that stand for a person, postal and e-mail addresses. Batch numbers, doses,
times and expiry dates are what a procedure talks of. A word that is in no list of words may be a name. Nothing of this
is certain: it catches slips in English, not someone who wants to write a name down. In doubt it is held back, and
whoever spoke is told so.
"""

import re
from datetime import date
from pathlib import Path

from companion.errors import UsageError
from companion.record.personal.addresses import mail_address, postal_address
from companion.record.personal.births import date_of_birth
from companion.record.personal.free_text import tokens
from companion.record.personal.identifiers import number_of_a_person
from companion.record.personal.names import names_somebody
from companion.record.personal.unknown import unknown

_WINDOW = 500
"""Letters; a longer text is looked at in parts that overlap by as much, so that its time grows with its length only."""
_NAME = "a name"
_UNKNOWN = "a word no list holds, perhaps a name"
_BLANK = f"[held back: {_UNKNOWN}]"
_BETWEEN = re.compile(r"(?<=[.;?!])\s+")
"""Between two sentences."""


def looks_private(text: str, today: date, talk: bool = True) -> str:
    """What in `text` looks as if it told who somebody is, in a few plain words; empty when nothing does. A full date
    more than two years before that of `today` counts as a date of birth: no vial in use was opened or expired then.
    What is no `talk`, such as a path or a device's name, may hold words of any kind."""
    if len(text) > 2 * _WINDOW:
        parts = (text[at : at + 2 * _WINDOW] for at in range(0, len(text), _WINDOW))
        return next(filter(None, (looks_private(part, today, talk) for part in parts)), "")
    said = tokens(text)
    if date_of_birth(text, said, today):
        return "a date of birth"
    if mail_address(text):
        return "an e-mail address"
    if postal_address(text):
        return "a postal address"
    if number_of_a_person(text, said, today):
        return "a number that stands for a person"
    if names_somebody(said):
        return _NAME
    return _UNKNOWN if talk and unknown(said) else ""


def held_back(text: str, today: date, talk: bool = False) -> str:
    """`text` as it may stand in a record: itself, or a note in its place of what it looks like."""
    what = looks_private(text, today, talk)
    return f"[held back: it looks like {what}]" if what else text


def talk_held_back(text: str, today: date) -> str:
    """`held_back` for talk; where only names are said, sentences without any stay, and beside a word that no list holds
    all other words, so that the deeds told there can be noted."""
    what = looks_private(text, today)
    if what == _UNKNOWN:
        return _without(text)
    if what != _NAME:
        return held_back(text, today, talk=True)
    kept = " ".join(talk_held_back(each, today) for each in _BETWEEN.split(text)) if _BETWEEN.search(text) else text
    return held_back(text, today, talk=True) if kept == text or names_somebody(tokens(kept)) else kept


def _without(text: str) -> str:
    """`text` with a note in the place of each word that no list holds."""
    for token in reversed(unknown(tokens(text))):
        text = text[: token.start] + _BLANK + text[token.end :]
    return text


def path_for_record(what: str, path: Path, today: date) -> str:
    """`path` as a record may name it, with `~` for the user's own folder, whose name is often theirs.

    Raises UsageError as `refuse_private`."""
    home = Path.home()
    told = f"~/{path.relative_to(home).as_posix()}" if path.is_relative_to(home) else str(path)
    refuse_private(what, " ".join(Path(told).parts), today, talk=False)
    return told


def refuse_private(what: str, text: str, today: date, talk: bool = True) -> str:
    """`text` as it may stand in a record or an export, where `what` names it for people, such as `the remark`.

    Raises UsageError, naming what it looks like.
    """
    found = looks_private(text, today, talk)
    if found:
        raise UsageError(f"{what}: held back: it looks like {found}; accepted: words that name nobody")
    return text
