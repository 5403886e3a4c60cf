"""A bare yes or no: words that agree or deny and say nothing else."""

from typing import Literal

Answer = Literal["yes", "no"]

_YES_WORDS = (
    "yes yeah yep yup aye ok okay right correct done sure ready good fine confirmed affirmative sorted checked",
    "absolutely exactly indeed perfect",
)
_NO_WORDS = ("no nope nah wrong incorrect negative never",)
_FILLER_WORDS = ("er erm um uh hm oh well so and then now please thanks it's it is that's that all",)
_YES, _NO, _FILLERS = (
    frozenset(word for line in lines for word in line.split()) for lines in (_YES_WORDS, _NO_WORDS, _FILLER_WORDS)
)
_NOT_RIGHT = frozenset({"not right", "that's not right", "it's not right", "that is not right"})
_MOST = 4
"""Words; longer ones say more than a bare answer."""


def bare(words: str, language: str = "en-US") -> Answer | None:
    """Of lower-case words without punctuation; None where they say more, or both, or are no English."""
    if language.split("-", maxsplit=1)[0].lower() != "en":
        return None
    if words in _NOT_RIGHT:
        return "no"
    said = words.split()
    yes, no = (any(word in those for word in said) for those in (_YES, _NO))
    if yes == no or len(said) > _MOST or not set(said) <= _YES | _NO | _FILLERS:
        return None
    return "yes" if yes else "no"
