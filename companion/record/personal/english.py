"""Words of English, by lists of words and by what is made of them: endings, compounds, slips, terms of medicine."""

import re
from collections.abc import Iterator
from functools import cache
from string import ascii_lowercase

from companion.record.personal.lists import blocks

_BEFORE = re.compile(
    r"(?:un|re|non|pre|post|anti|hyper|hypo|immuno|over|under|micro|auto|super|inter|mis|dis|peri|lipo|para|intra|trans|"
    r"extra|electro|bio|hydro|neuro|cardio|vaso|broncho|gastro|osteo|thrombo|haemo|hemo|pneumo|tele|multi|semi|mini|self|"
    r"normo|sub|de)(?=.....)"
)
_AFTER = re.compile(r"(?<=....)(?:s|ed|ing|less|like|able|ness|wise|ly|ify|ified|ifies|d)\Z")
_OF_MEDICINE = re.compile(
    r"(?<=..)(?:mab|parin|xaban|gliptin|gliflozin|glutide|natide|sartan|pril|olol|statin|cillin|m[yi]cin|oxacin|azole|tidine|"
    r"prazole|caine|profen|setron|thiazide|semide|azepam|zolam|tinib|stim|poetin|phylline|dipine|cycline|sporin|penem|"
    r"amide|azide|oxide|rapid|vax|derm|sept|prep|plex|plast|sorb|film|lyte|zyme|wipe|cath|flon|tainer|fusine|ject|"
    r"scrub|flex|spray|aemia|otomy|ectomy|ostomy|scopy|graphy|metry|algia|pnoea|pnea|oedema|cytes?|penia|pathy|ologist|"
    r"plegia|phasia|phagia|rrhage|rrhagia|rrh?oea|cardia|genic|lytic|ised|ized|[iy]sation|ization|ically)\Z"
)
"""Ends of medicines, dressings and findings that less than one in 40,000 names has (`tests/bench/privacy_names.py`
counts them on its own lists)."""
_PART = 4
"""Letters of each half at least where two words are written as one: `fingerstick`."""
_SLIP = 7
"""Letters of a word at least in which one wrong letter is a slip: `syrnige`; one more in a word that is not of a
procedure, where the first and the last letter have to be right: `seperate`, but not `valentina`."""
_LITTLE = 2
"""Letters up to which a word is none that the lists hold."""
_NOT_ENGLISH = frozenset("ba el na ng po sa se un zu".split())  # noqa: SIM905
"""Words as short as that and yet of another language."""


@cache
def _lists() -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    """All words, those of every day, and those that are common in talk of procedures."""
    words, everyday, common = map(frozenset, blocks("words"))
    return words | everyday | common, everyday, common


def english(word: str) -> bool:
    """Whether a list has the word, in plain letters; one of two letters unless another language has it."""
    return word in _lists()[0] or (len(word) <= _LITTLE and word not in _NOT_ENGLISH)


def english_words() -> frozenset[str]:
    """All that the lists have."""
    return _lists()[0]


def made_of_english(word: str) -> bool:
    """Whether a list has the word, or it is made of listed ones, ends as only a term of medicine does, or is a slip."""
    words, everyday, common = _lists()
    if word in words or (word.endswith("in") and f"{word}g" in words) or _OF_MEDICINE.search(word):
        return True
    for shorter in (
        _BEFORE.sub("", word, count=1),
        _AFTER.sub("", word),
        _BEFORE.sub("", _AFTER.sub("", word), count=1),
    ):
        if shorter != word and (shorter in words or f"{shorter}e" in words):
            return True
    if len(word) >= _SLIP and any(
        each in common or (len(word) > _SLIP and each in everyday and (each[0], each[-1]) == (word[0], word[-1]))
        for each in _slips(word)
    ):
        return True
    return any(word[:at] in words and word[at:] in words for at in range(_PART, len(word) - _PART + 1))


def _slips(word: str) -> Iterator[str]:
    """What may have been meant: two letters changed over, one missing, one too many, one for another."""
    for at in range(len(word)):
        yield word[:at] + word[at + 1 : at + 2] + word[at : at + 1] + word[at + 2 :]
        yield word[:at] + word[at + 1 :]
        for letter in ascii_lowercase:
            yield word[:at] + letter + word[at:]
            yield word[:at] + letter + word[at + 1 :]
