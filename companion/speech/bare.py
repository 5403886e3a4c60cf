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
_PRAISE = frozenset({"well done"})
"""Said to people."""
_RIGHT = frozenset(
    {
        *("yes", "yeah", "yep", "yup", "aye", "right", "correct"),
        *("confirmed", "affirmative", "absolutely", "exactly", "indeed"),
    }
)
"""Of the words that agree those that say of something that it is right: `okay` and `done` may begin or end a talk."""
_BESIDE_RIGHT = frozenset({"er", "erm", "um", "uh", "hm", "thanks", "please", "it's", "that's"})
_MOST = 4
"""Words; longer ones say more than a bare answer."""


def bare(words: str, language: str = "en-US") -> Answer | None:
    """Of lower-case words without punctuation; None where they say more, or both, or are no English."""
    if language.split("-", maxsplit=1)[0].lower() != "en":
        return None
    if words in _NOT_RIGHT:
        return "no"
    said = words.split()
    if words in _PRAISE or said[:1] == ["is"]:
        return None  # or a question
    yes, no = (any(word in those for word in said) for those in (_YES, _NO))
    if yes == no or len(said) > _MOST or not set(said) <= _YES | _NO | _FILLERS:
        return None
    return "yes" if yes else "no"


def says_right(words: str) -> bool:
    """Whether a bare yes says that something is right, which words of comfort (`it's all right`), of beginning
    (`right then`) and of asking (`that right`) do not."""
    said = words.replace("it is", "it's").replace("that is", "that's").split()
    return set(said) <= _RIGHT | _BESIDE_RIGHT
