"""Error-prone writing: abbreviations and figures that have been misread.

ISMP List of Error-Prone Abbreviations (2021) and the Joint Commission's "Do Not Use" list.
"""

import re
from collections.abc import Iterator

from companion.procedure.model import Procedure
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import Fault, Site, sites
from companion.speech.values import NumberValue

Where = tuple[str | int, ...]

# Written so in every trade text, and not on the lists: a rate in mL/h or drops/min, a strength such as U-100.
_ALLOWED = re.compile(r"\bmL/h\b|\bdrops/(?:mL|min)\b|\bU-(?:40|100|200|300|500)\b")

_WORDS = {
    word: better
    for words, better in (
        ("U u IU iu", "units"),
        ("QD qd q.d Q.D", "daily"),
        ("QOD qod q.o.d Q.O.D", "every other day"),
        ("OD O.D", "daily, or right eye"),
        ("TIW tiw", "three times a week"),
        ("HS hs", "at bedtime, or half strength"),
        ("BT", "at bedtime"),
        ("D/C", "discharge, or discontinue"),
        ("IJ", "injection"),
        ("IN", "intranasal"),
        ("UD", "as directed"),
        ("SSRI SSI ss SS", "sliding scale, or half, in words"),
        ("SC SQ sc sq sub-q subq", "subcut, or subcutaneous"),
        ("MSO4 MgSO4 MS", "the medicine's full name"),
        ("cc", "mL"),
    )
    for word in words.split()
}

_SIGNS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), better)
    for pattern, better in (
        (r"\d+(?:IU|iu|U|u)(?![\w-])", "units"),
        (r"\d+cc(?!\w)", "mL"),
        (r"[µμ]g?", "mcg, or micro in words"),
        (r"@", "at"),
        (r"&", "and"),
        (r"(?<=\s)\+(?=\s)|\+(?=\d)|(?<=\d)\+", "plus, or and"),
        (r"[<>≤≥]", "less than, more than, at least, at most"),
        (r"°", "degrees"),
        (r"(?<![\d.])\.\d+", "a zero before the point"),
        (r"(?<![\d.])\d+\.\d*0(?![\d.]*\d)", "no zero after the point"),
        (r"\b\d[\d,.]*(?:mcg|mg|kg|g|mL|ml|L|units?|mmol|cm|mm|min|h|s)\b", "a space between figure and unit"),
        (r"(?<![\d.,])\d{5,}(?![\d,])", "commas in large figures"),
        (r"\b1:\d{1,3}(?:,\d{3})+\b|\b1:\d{3,}\b", "an amount per mL"),
        (r"(?<![\d/])[1-9]/[1-9](?![\d/])", "half, a third and so on"),
    )
)
_ANY_SIGN = re.compile(r"[0-9@&+<>≤≥°µμ]")
_TOKEN = re.compile(r"[\w./-]*\w")


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Each misreadable piece of writing in what is spoken or shown. Titles of sources are left as published."""
    for path, text in _written(procedure):
        for found, better in misread(text):
            yield Fault(path, f"`{found}` has been misread in the trade; accepted: {better}")


def misread(text: str) -> list[tuple[str, str]]:
    """The error-prone pieces of a text, each with what to write instead."""
    # An allowed form must not become a false hit of a rule when it is taken out.
    text = _ALLOWED.sub("ok", text).replace("sub q", "sub-q")
    found = [(token, _WORDS[token]) for token in _TOKEN.findall(text) if token in _WORDS]
    if _ANY_SIGN.search(text):
        found += [(hit[0].strip(), better) for rule, better in _SIGNS for hit in rule.finditer(text)]
    return found


def _written(procedure: Procedure) -> Iterator[tuple[Where, str]]:
    yield ("title",), procedure.title
    yield ("summary",), procedure.summary
    for key in ("cautions", "local_policy"):
        for index, text in enumerate(getattr(procedure, key)):
            yield (key, index), text
    for index, setting in enumerate(procedure.settings):
        yield ("settings", index, "about"), setting.about
        yield ("settings", index, "value"), setting.value
    for index, person in enumerate(procedure.people):
        yield ("people", index, "does"), person.does
    for site in sites(procedure):
        yield from _of_step(site)
    for index, branch in enumerate(procedure.branches):
        yield ("branches", index, "title"), branch.title
        if branch.ends.reason is not None:
            yield ("branches", index, "ends", "reason"), branch.ends.reason


def _of_step(site: Site) -> Iterator[tuple[Where, str]]:
    step = site.step
    for key in ("title", "say", "short", "caution", "reason", "hint", "ask"):
        text = getattr(step, key, None)
        if text is not None:
            yield (*site.path, key), text
    for index, after in enumerate(step.after):
        yield (*site.path, "after", index, "because"), after.because
    for where, text in said.texts(site):
        if len(where) > 1:  # the step's own texts stand above
            yield (*site.path, *where), text
    value = getattr(step, "value", None)
    if isinstance(value, NumberValue):
        yield (*site.path, "value", "unit"), value.unit
