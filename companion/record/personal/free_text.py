"""Free text as words and figures."""

import re
import unicodedata
from dataclasses import dataclass

from companion.speech.numbers import AS_DIGIT, SMALL

_TOKEN = re.compile(r"\d+|[^\W\d_]+(?:['’][^\W\d_]+)*|[^\w\s]|_")
_DIGITS = AS_DIGIT | dict.fromkeys(("o", "naught"), "0")
_TEENS = {word: n for word, n in SMALL.items() if 10 <= n < 20}
_TENS = {word: n for word, n in SMALL.items() if n >= 20}
_ORDINAL = (
    "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth "  # noqa: SIM905
    "fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth".split(" ")
)
_ORDINALS = {word: n for n, word in enumerate(_ORDINAL, 1)} | {"thirtieth": 30}
_TIMES = {"double": 2, "triple": 3}
_SPECIAL = str.maketrans({"ł": "l", "ø": "o", "ß": "ss", "æ": "ae", "đ": "d", "ı": "i"})


@dataclass(frozen=True)
class Token:
    """A word, a run of figures, or one sign. `text` as written, `plain` in small letters, no accents or apostrophes;
    `start` and `end` are places in the text; `opens` says that a sentence begins here."""

    text: str
    plain: str
    start: int
    end: int
    opens: bool

    @property
    def word(self) -> bool:
        return self.text[0].isalpha()


@dataclass(frozen=True)
class Figure:
    """One number as said: `48`, `forty eight`, `third`, `double oh`. `first` and `last` are places among the tokens."""

    digits: str
    first: int
    last: int
    spoken: bool
    ordinal: bool = False

    @property
    def value(self) -> int:
        return int(self.digits)


def tokens(text: str) -> tuple[Token, ...]:
    found: list[Token] = []
    opens = True
    for match in _TOKEN.finditer(text):
        piece = match.group()
        found.append(
            Token(piece, plain(piece.lower().removesuffix("'s").removesuffix("’s")), match.start(), match.end(), opens)
        )
        opens = piece in ".!?:;/\\_" if not piece[0].isalnum() else False
    return tuple(found)


def plain(word: str) -> str:
    """`Żaneta` -> `zaneta`; the letters that no accent explains in the usual spelling."""
    letters = unicodedata.normalize("NFKD", word.lower().translate(_SPECIAL))
    return "".join(each for each in letters if not unicodedata.combining(each)).replace("'", "").replace("’", "")


def figures(said: tuple[Token, ...]) -> tuple[Figure, ...]:
    """The numbers of a text in order. Tens and ones are one number; years said in two parts stay two.

    Not the finder of `speech.running`: what may tell who somebody is has ordinals and `double oh` in it, is looked for
    in whatever was written, and a figure that is not surely one counts.
    """
    found: list[Figure] = []
    at = 0
    while at < len(said):
        figure = _figure(said, at)
        if figure is None:
            at += 1
            continue
        found.append(figure)
        at = figure.last + 1
    return tuple(found)


def _figure(said: tuple[Token, ...], at: int) -> Figure | None:
    word = said[at].plain
    following = said[at + 1].plain if at + 1 < len(said) else ""
    if word.isdecimal() and word.isascii():
        ordinal = following in ("st", "nd", "rd", "th") and said[at + 1].start == said[at].end
        return Figure(word, at, at + ordinal, False, ordinal)
    if word in _TIMES and following in _DIGITS:
        return Figure(_DIGITS[following] * _TIMES[word], at, at + 1, True)
    if word in _TENS:
        step = at + 2 if following == "-" and at + 2 < len(said) else at + 1
        ones = said[step].plain if step < len(said) else ""
        if ones in _DIGITS and ones not in ("oh", "o", "zero", "nought", "naught"):
            return Figure(str(_TENS[word] + int(_DIGITS[ones])), at, step, True)
        if _ORDINALS.get(ones, 99) < 10:
            return Figure(str(_TENS[word] + _ORDINALS[ones]), at, step, True, True)
        return Figure(str(_TENS[word]), at, at, True)
    if word in _ORDINALS:
        return Figure(str(_ORDINALS[word]), at, at, True, True)
    if word in _TEENS:
        return Figure(str(_TEENS[word]), at, at, True)
    if word in _DIGITS and not (word == "o" and said[at].text == "O'"):
        return Figure(_DIGITS[word], at, at, True)
    return None
