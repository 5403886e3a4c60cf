"""Words of an utterance, with what inflection leaves of them and where a clause may end."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import snowballstemmer

from companion.speech.numbers import AS_DIGIT, SMALL

_STEMMER = snowballstemmer.stemmer("english")

_IRREGULAR = {
    form: base
    for base, forms in {
        "bring": "brought",
        "choose": "chose chosen",
        "come": "came",
        "do": "did done does doing",
        "draw": "drew drawn",
        "dry": "dries dried drier",
        "feel": "felt",
        "find": "found",
        "get": "got gotten",
        "give": "gave given",
        "go": "went gone",
        "hear": "heard",
        "hold": "held",
        "keep": "kept",
        "know": "knew known",
        "lie": "lay lying lain",
        "lose": "lost",
        "make": "made",
        "say": "said",
        "see": "saw seen",
        "shake": "shook shaken",
        "show": "shown",
        "stick": "stuck",
        "take": "took taken",
        "tell": "told",
        "think": "thought",
        "throw": "threw thrown",
        "wear": "wore worn",
        "withdraw": "withdrew withdrawn",
        "write": "wrote written",
    }.items()
    for form in forms.split(" ")
}
"""Forms that no stemmer joins, for the verbs of the trade. "left" and "wound" are a side and an injury here."""

_SPOKEN = {
    "i'm": "i am",
    "i've": "i have",
    "i'll": "i will",
    "i'd": "i would",
    "we're": "we are",
    "we've": "we have",
    "we'll": "we will",
    "you're": "you are",
    "you've": "you have",
    "you'll": "you will",
    "it's": "it is",
    "that's": "that is",
    "what's": "what is",
    "there's": "there is",
    "let's": "let us",
    "they're": "they are",
    "they've": "they have",
    "they'll": "they will",
    "he's": "he is",
    "she's": "she is",
    "gonna": "going to",
    "gotta": "got to",
    "wanna": "want to",
    "cannot": "can not",
    "can't": "can not",
    "won't": "will not",
    "shan't": "shall not",
    "ain't": "is not",
    "dont": "do not",
    "didnt": "did not",
    "wont": "will not",
    "im": "i am",
    "ive": "i have",
    "gotcha": "got you",
    "lemme": "let me",
    # Not all that units are called (`speech.units`): the weights were fitted to a talk with these alone in full.
    "mls": "ml",
    "mils": "ml",
}
_NUMBERS = frozenset({*AS_DIGIT, *SMALL, "naught", "point", "half", "fourty", "hundred", "thousand"})

_TOKEN = re.compile(r"\d+(?:[.,]\d+)?(?![^\W\d_])|[^\W_]+(?:['’][^\W_]+)*|[.;?!,:…—–]|-(?=\s)", re.UNICODE)
_ISE = re.compile(r"(?<=\w{3})is(e|ed|es|ing|er)$")

_FILLERS = frozenset("um umm uh uhm er erm eh hm hmm mm mhm ehm".split(" "))  # noqa: SIM905

_NOTE = re.compile(r"\[held back: [^\]]*\]")
"""What stands in a record in place of words that were held back: nobody said it."""

STRONG, WEAK, NONE = 2, 1, 0
_STRONG = frozenset(".;?!…")


@dataclass(frozen=True)
class Word:
    """One word. `start` and `end` are places in the utterance's text."""

    text: str
    stem: str
    start: int
    end: int
    gap: int = NONE
    """Punctuation before it: a full stop and its like are `STRONG`, a comma `WEAK`."""
    asks: bool = False
    """The sentence it stands in ends with a question mark."""

    @property
    def number(self) -> bool:
        """A figure, or a word for one; "one" alone may be no number, which its ideas have to tell."""
        return self.text[0].isdigit() or self.text in _NUMBERS


@cache
def stem(word: str) -> str:
    """`washes`, `washing`, `washed` -> `wash`. Lower-case input; British `-ise` counts as `-ize`."""
    word = _IRREGULAR.get(word, word)
    return str(_STEMMER.stemWord(_ISE.sub(r"iz\1", word)))


def words(text: str, sounds: Mapping[str, str] | None = None) -> tuple[Word, ...]:
    """The words of a text; contractions in full. `sounds` gives the stem meant by a word that was misheard."""
    meant = sounds or {}
    found: list[Word] = []
    gap = STRONG
    spoken_part = _NOTE.sub(lambda note: ".".ljust(len(note.group())), text)
    for match in _TOKEN.finditer(spoken_part.lower().replace("’", "'")):
        piece = match.group()
        if not piece[0].isalnum():
            gap = max(gap, STRONG if piece in _STRONG else WEAK)
            if piece == "?":
                found = _asked(found)
            continue
        if piece in _FILLERS:
            continue
        for spoken in _in_full(piece):
            found.append(Word(spoken, meant.get(spoken) or stem(spoken), match.start(), match.end(), gap))
            gap = NONE
    return tuple(found)


def _in_full(piece: str) -> list[str]:
    if piece in _SPOKEN:
        return _SPOKEN[piece].split(" ")
    if piece.endswith("n't"):
        return [piece[:-3], "not"]
    if piece.endswith("'s"):
        return [piece[:-2]]
    return [piece.replace("'", "")]


def _asked(found: list[Word]) -> list[Word]:
    """The last sentence was a question."""
    begin = max((place for place, word in enumerate(found) if word.gap == STRONG), default=0)
    return found[:begin] + [Word(w.text, w.stem, w.start, w.end, w.gap, True) for w in found[begin:]]
