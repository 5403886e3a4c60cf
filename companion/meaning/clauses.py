"""Which words of an utterance do not count as saying a step: denials, intentions, questions to oneself, hearsay.

What is said in passing about doing it later, about others, or about what should be done is not doing it.
"""

from collections.abc import Iterator, Sequence

from companion.meaning.rules import BACK, CORRECTION, MADE_GOOD, MISSING, MOST, RULES, TAKEN_BACK, UNDONE, Rule
from companion.meaning.words import STRONG, WEAK, Word

_HEADS = frozenset({"then", "but", "so", "because", "now", "first", "next", "instead", "or", "otherwise", "though"})
"""A word that begins another clause."""
_SUBJECTS = frozenset({"i", "we", "you", "let"})
_STARTS = _SUBJECTS | {"then", "now", "so", "also", "it", "this", "that", "finally", "the", "my"}


def clauses(said: Sequence[Word], wide: bool) -> list[range]:
    """The places of each clause, parted by punctuation, "and", and words that begin another.

    `wide`: an "and" parts only where a subject follows ("not wash and dry" denies both), and a few words set off at
    the beginning ("later, I ...") belong to what follows.
    """
    begins = [0] if said else []
    for place in range(1, len(said)):
        word = said[place]
        joins = word.text == "and" and (not wide or (place + 1 < len(said) and said[place + 1].text in _STARTS))
        parts = word.gap >= WEAK and not (wide and word.gap == WEAK and _set_off(said[begins[-1] : place]))
        if joins or parts or word.text in _HEADS:
            begins.append(place)
    return [range(begin, end) for begin, end in zip(begins, [*begins[1:], len(said)], strict=False)]


def _set_off(before: Sequence[Word]) -> bool:
    return len(before) <= 4 and not any(word.text in _SUBJECTS for word in before)


def sentences(said: Sequence[Word]) -> list[range]:
    """The places of each sentence."""
    begins = [place for place, word in enumerate(said) if place == 0 or word.gap == STRONG]
    return [range(begin, end) for begin, end in zip(begins, [*begins[1:], len(said)], strict=False)]


def voids(said: Sequence[Word]) -> list[str]:
    """For each word why it does not count; empty where it does."""
    why = [""] * len(said)
    parts, wide = clauses(said, wide=False), clauses(said, wide=True)
    for sentence in sentences(said):
        text, starts = _joined(said, sentence)
        for rule in RULES:
            for match in rule.pattern.finditer(text):
                begin = starts[match.start()]
                near = next(part for part in (wide if rule.wide else parts) if begin in part)
                for place in _reached(rule, said, sentence, near, begin):
                    why[place] = why[place] or rule.why
    _make_good(said, why)
    _undo(said, why)
    return why


def _undo(said: Sequence[Word], why: list[str]) -> None:
    """What an utterance takes back as it ends: the last sentence before that."""
    text, starts = _joined(said, range(len(said)))
    match = UNDONE.search(text)
    if match is None:
        return
    place = starts[match.start()]
    before = [part for part in sentences(said) if part.start < place]
    for each in before[-1] if before else ():
        why[each] = why[each] or TAKEN_BACK


def _joined(said: Sequence[Word], places: range) -> tuple[str, dict[int, int]]:
    """The words with one space between, and the place of the word that begins at each offset."""
    text, starts = "", {}
    for place in places:
        text += " " if text else ""
        starts[len(text)] = place
        text += said[place].text
    return text, starts


def _reached(rule: Rule, said: Sequence[Word], sentence: range, clause: range, begin: int) -> Iterator[int]:
    if rule.reach == "sentence":
        yield from sentence
    elif rule.reach == "around":
        yield from clause
    elif rule.reach in MOST:
        yield from range(begin, min(clause.stop, begin + MOST[rule.reach]))
    else:
        subject = begin + 1
        if subject < len(said) and said[subject].text in _SUBJECTS:
            subject += 1  # "before I do this, I do that": its own subject
        for place in range(begin, sentence.stop):
            if place > begin and (said[place].gap or (place >= subject and said[place].text in _SUBJECTS)):
                return
            yield place


def _make_good(said: Sequence[Word], why: list[str]) -> None:
    """What was said to be missing counts after all when it is made good in the same breath."""
    missing = [place for place, reason in enumerate(why) if reason == MISSING]
    if not missing:
        return
    rest = " ".join(word.text for word in said[missing[-1] + 1 :])
    whole = " ".join(word.text for word in said[missing[0] :])
    if MADE_GOOD.search(rest) or MADE_GOOD.search(whole):
        for place in missing:
            why[place] = ""


def corrections(said: Sequence[Word]) -> list[int]:
    """Places where the speaker takes something back ("no wait, first ...")."""
    text, starts = _joined(said, range(len(said)))
    return sorted({starts[match.start()] for match in CORRECTION.finditer(text)})


def stops(said: Sequence[Word]) -> list[int]:
    """Places where the speaker stops and undoes ("not yet", "back, back")."""
    text, starts = _joined(said, range(len(said)))
    return sorted({starts[match.start()] for match in BACK.finditer(text)})
