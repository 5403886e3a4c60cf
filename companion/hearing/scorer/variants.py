"""How a spoken phrase may be written: "fourteen units" is also "14 units" and "Fourteen Units".

The model was trained on written text, so the same sound has many spellings; a phrase's chance is the sum over them.
Every alternative must sound like the words it stands for: an unlikely spelling costs nothing, a different sound is an
error. The table of spellings is common practice.
"""

import re
from collections.abc import Sequence
from functools import lru_cache

from num2words import num2words

from companion.hearing.pronunciation import phonemes
from companion.hearing.scorer.tokens import SPACE
from companion.speech.numbers import AS_DIGIT, NumberError, parse_number, plain
from companion.speech.units import UNIT_SPELLINGS

_SHORTEST_COMPOUND = 5
_LONGEST_NUMBER = 9
"""Words of the longest number that is also tried in figures."""

_SPELLINGS: dict[str, tuple[str, ...]] = {
    **UNIT_SPELLINGS,
    "okay": ("ok", "OK"),
    "ok": ("okay", "OK"),
    "alright": ("all right",),
    # What else units are called (`speech.units`) has no spelling that sounds the same, but for these.
    "mils": ("mills", "mls", "mLs", "ml", "mL"),
    "kilos": ("kg",),
    "oh": ("o", "0"),
    "nought": ("naught", "0"),
    "half": ("1/2", "½"),
    "two": ("to", "too"),
    "four": ("for",),
    "eight": ("ate",),
    "one": ("won",),
    "no": ("know",),
    "right": ("write",),
    "doctor": ("Dr", "Dr."),
    "mister": ("Mr", "Mr."),
    "intravenous": ("IV",),
    "versus": ("vs",),
}
_ATTACHED = frozenset("%°")
"""Signs written without a space before them, as well as with one."""

_REGIONS = (
    ("our", "or"),
    ("or", "our"),
    ("ise", "ize"),
    ("ize", "ise"),
    ("isi", "izi"),
    ("isa", "iza"),
    ("iza", "isa"),
    ("ae", "e"),
    ("oe", "e"),
    ("tre", "ter"),
    ("ter", "tre"),
    ("yse", "yze"),
    ("lled", "led"),
    ("lling", "ling"),
    ("ey", "ay"),
    ("ay", "ey"),
)
_ORDINALS = {num2words(n, to="ordinal").replace("-", " "): num2words(n, to="ordinal_num") for n in range(1, 100)}

Edge = tuple[int, tuple[str, ...]]
"""To which word (exclusive), and the ways to write what lies between; `SPACE` marks a leading space."""


def is_number(word: str) -> bool:
    """True for a word that numbers are made of, such as `five`, `fifth` and `point`."""
    return word in _ORDINALS or word in ("point", "half", "hundred", "thousand") or bool(_figures((word,)))


def digits_in(words: Sequence[str]) -> str:
    """The digits of all the numbers in a text, in words or figures, without leading zeros: `230` for `two thirty` and
    for `2 30`.

    Not the finder of `speech.running`: two texts are told apart by their digits, so years, times of day, ordinals and
    figures within a word count, and no number needs to be sure.
    """
    digits, at = "", 0
    while at < len(words):
        if written := re.match(r"\d+", words[at]):  # "14", "14th", "10mg"
            digits, at = digits + written[0], at + 1
            continue
        ends = range(min(len(words), at + _LONGEST_NUMBER), at, -1)
        end = next((end for end in ends if _figures(tuple(words[at:end]))), at)
        if end > at:
            digits += re.sub(r"\D", "", _figures(tuple(words[at:end]))[0])
        at = max(end, at + 1)
    return digits.lstrip("0")


def edges_from(words: tuple[str, ...], start: int) -> list[Edge]:
    """Every way to write each stretch of a phrase that begins at word `start`."""
    found: list[Edge] = [(start + 1, _single(words[start]))]
    if start + 2 <= len(words):
        found.append((start + 2, _compound(*words[start : start + 2])))
    for end in range(start + 1, min(len(words), start + _LONGEST_NUMBER) + 1):
        stretch = words[start:end]
        if figures := _figures(stretch):
            found.append((end, tuple(SPACE + figure for figure in figures)))
        if len(stretch) > 1 and len(stretch[-1]) == 1 and (figures := _figures(stretch[:-1])):
            found.append((end, tuple(SPACE + figure + stretch[-1].upper() for figure in figures)))  # "3D"
        if len(stretch) > 1 and all(len(word) == 1 and word.isalpha() for word in stretch):
            letters = "".join(stretch).upper()
            dotted = ".".join(letters) + "."
            found.append((end, tuple(SPACE + form for form in (letters, dotted, letters.lower(), dotted.lower()))))
    return found


@lru_cache(maxsize=10_000)
def _compound(left: str, right: str) -> tuple[str, ...]:
    return _cases(f"{left}-{right}") + _cases(left + right)


@lru_cache(maxsize=10_000)
def _single(word: str) -> tuple[str, ...]:
    written = [word, *_SPELLINGS.get(word, ())]
    for old, new in _REGIONS:
        if old in word[1:]:
            written.append(word[0] + word[1:].replace(old, new, 1))
    written += _split(word)
    forms = [form for spelling in written for form in _cases(spelling)]
    forms += [spelling for spelling in written if spelling in _ATTACHED]
    return tuple(dict.fromkeys(forms))


def _split(word: str) -> list[str]:
    """A compound as two words, where they sound as it does: "log in" for "login"."""
    if len(word) < _SHORTEST_COMPOUND or not (whole := phonemes(word)):
        return []
    found = []
    for at in range(2, len(word) - 1):
        left, right = word[:at], word[at:]
        if any((*a, *b) in whole for a in phonemes(left) for b in phonemes(right)):
            found += [f"{left} {right}", f"{left}-{right}"]
    return found


def _cases(word: str) -> tuple[str, ...]:
    """As it is, and with a capital; short words also all in capitals."""
    forms = [word, word[:1].upper() + word[1:]]
    if len(word) <= 4:
        forms.append(word.upper())
    return tuple(dict.fromkeys(SPACE + form.replace(" ", SPACE) for form in forms))


@lru_cache(maxsize=50_000)
def _figures(words: tuple[str, ...]) -> tuple[str, ...]:
    """The stretch as figures, or nothing when it is not a number, an ordinal, a year or a time of day."""
    text = " ".join(words)
    if text in _ORDINALS:
        return (_ORDINALS[text],)
    forms: list[str] = []
    if len(words) > 1 and all(word in AS_DIGIT for word in words):
        digits = "".join(AS_DIGIT[word] for word in words)  # "zero one four" keeps its zero
        return (digits, "-".join(digits), *_paired(words))
    try:
        number = parse_number(text)
    except NumberError:
        pass
    else:
        figure = plain(number)
        whole, _, fraction = figure.partition(".")
        forms.append(figure)
        if fraction and whole == "0":
            forms.append("." + fraction)
        if fraction == "5" and "half" in words:
            forms += [f"{whole}½", f"{whole}{SPACE}1/2", f"{whole}{SPACE}½"]
        if not fraction and len(figure) > 3:
            forms.append(f"{int(figure):,}")
    forms += _paired(words)
    return tuple(dict.fromkeys(forms))


def _paired(words: tuple[str, ...]) -> list[str]:
    """Two numbers said in a row: a year ("twenty twenty six") or a time of day ("two thirty", "nine oh five")."""
    forms: list[str] = []
    for at in range(1, len(words)):
        left, right = _two_digits(words[:at]), _two_digits(words[at:])
        if left and len(right) == 2:
            forms += [left + right, f"{left}:{right}", f"{left}.{right}", f"{left}{SPACE}{right}"]
    return forms


def _two_digits(words: tuple[str, ...]) -> str:
    if len(words) == 2 and words[0] in ("oh", "zero", "nought"):
        return "0" + AS_DIGIT[words[1]] if words[1] in AS_DIGIT else ""
    if not 1 <= len(words) <= 2 or (len(words) == 2 and (words[0] in AS_DIGIT or words[1] not in AS_DIGIT)):
        return ""
    try:
        figure = plain(parse_number(" ".join(words)))
    except NumberError:
        return ""
    return figure if re.fullmatch(r"\d{1,2}", figure) else ""
