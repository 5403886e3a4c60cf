"""What a question offers is an answer to it."""

import re
from collections.abc import Iterator

from companion.errors import CompanionError
from companion.procedure.model import Procedure
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import Fault, Site, sites
from companion.speech.speakable import words_of

_BARE = 2
"""Words up to which an alternative is taken to be what shall be said, and no description of it."""
_VERBS = frozenset("am are can could did do does had has have is may must shall should was were will would".split())  # noqa: SIM905
_ASKING = frozenset("how what when where which who whose why".split())  # noqa: SIM905
_OR = re.compile(r",? or |, ")


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Questions of which one alternative is a reply word for word, or all are a word or two, and some are none."""
    for site in sites(procedure):
        known = _known(procedure, site)
        for where, text in said.texts(site):
            for sentence, asks in said.sentences(text, procedure):
                offered = alternatives(sentence, procedure.language) if asks else ()
                refused = [phrase for phrase in offered if phrase not in known]
                if refused and (len(refused) < len(offered) or _closed(offered)):
                    message = f"`{where[-1]}` offers `{refused[0]}`, which is no reply there"
                    yield site.fault(f"{message}; accepted: the words of the replies, or no alternatives", *where)


def alternatives(question: str, language: str = "en-US") -> tuple[str, ...]:
    """`right or wrong` and `is that so still, or not` -> what is offered, as phrases; empty where it offers nothing."""
    if not re.search(r"\bor\b", question):
        return ()
    parts = [words_of(part, language) for part in _OR.split(question)]
    return tuple(part for part in parts if part and part.split()[0] not in _ASKING)


def _closed(offered: tuple[str, ...]) -> bool:
    first = offered[0].split()
    return len(offered) == _BARE and first[0] not in _VERBS and all(len(each.split()) <= _BARE for each in offered)


def _known(procedure: Procedure, site: Site) -> set[str]:
    known = {phrase for _, replies, _ in said.own_replies(site) for phrase in replies}
    known |= {phrase for branch in said.branches_heard(procedure, site) for phrase in branch.heard}
    for _, spec in said.values_said(procedure, site):
        try:
            known |= said.value_phrases(procedure, spec)
        except CompanionError:
            continue  # told where phrases are compared
    return known
