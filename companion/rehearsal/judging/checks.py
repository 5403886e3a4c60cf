"""Whether a check by a second person was told as an independent one."""

from collections.abc import Iterator, Sequence

from companion.meaning.assign import Said
from companion.meaning.words import words
from companion.procedure.model import Procedure
from companion.session.findings import Finding
from companion.speech.language import tell

_TOGETHER = ("together", "my figure", "my answer", "my result", "my number", "told her", "told him", "tell her",
             "tell him", "show her my", "show him my", "confirm my", "agree with me")  # fmt: skip
_APART = frozenset({"alon", "apart", "separ", "independ", "herself", "himself", "themselv", "own", "elsewher"})


def checks(procedure: Procedure, kept: Sequence[Said]) -> Iterator[Finding]:
    """A finding for each check of which it was not said that the second person works alone, or the contrary was."""
    for each in kept:
        step = procedure.step(each.step)
        if not step.checks:
            continue
        said = words(each.mention.heard.text)
        spoken = f" {' '.join(word.text for word in said)} "
        given_away = next((phrase for phrase in _TOGETHER if f" {phrase} " in spoken), "")
        apart = not _APART.isdisjoint(word.stem for word in said) or "without" in spoken
        if given_away and not (apart and given_away != "together"):
            reason = tell(procedure.language, "given away", title=step.title, phrase=given_away)
        elif not apart:
            reason = tell(procedure.language, "not alone", title=step.title)
        else:
            continue
        yield Finding(
            kind="not independent",
            step=step.id,
            title=step.title,
            critical=step.critical and bool(given_away),
            reason=reason,
            effect=step.reason or step.caution or "",
            heard=(each.mention.heard,),
            at_ms=each.mention.at_ms,
        )
