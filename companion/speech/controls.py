"""The few phrases that are the program's own and mean the same at every step."""

from collections.abc import Mapping
from typing import Literal

from companion.speech.language import tell

Control = Literal[
    "repeat",
    "go back",
    "pause",
    "resume",
    "why",
    "help",
    "stop",
    "leave out",
    "end",
    "right",
    "wrong",
    "stands",
    "falls",
]

_WORDS: Mapping[str, Mapping[Control, tuple[str, ...]]] = {
    "en": {
        "repeat": ("repeat",),
        "go back": ("go back",),
        "pause": ("pause",),
        "resume": ("go on", "resume", "continue"),
        "why": ("why",),
        "help": ("help",),
        "stop": ("stop",),
        "leave out": ("leave it out",),
        "end": ("end the session", "end it"),
        # "Wrong", said short, has been heard as "right"; "no" sounds like nothing that agrees.
        "right": ("yes", "right", "that's right", "that is right", "correct", "exactly right"),
        "wrong": (
            *("no", "wrong", "that's wrong", "that is wrong", "not right", "that's not right", "incorrect"),
            "completely wrong",
        ),
        "stands": ("so still", "still so", "yes", "that is so", "that's right", "still valid"),
        "falls": ("not", "not so", "no", "no longer", "no longer valid"),
    },
    "ko": {
        "repeat": ("다시",),
        "go back": ("뒤로",),
        "pause": ("잠깐",),
        "resume": ("계속",),
        "why": ("왜",),
        "help": ("도움",),
        "stop": ("정지",),
        "leave out": ("건너뛰기",),
        "end": ("끝내기",),
        "right": ("맞습니다",),
        "wrong": ("틀립니다",),
        "stands": ("그대로입니다",),
        "falls": ("아닙니다",),
    },
}

ANSWERS: tuple[Control, ...] = ("resume", "end", "right", "wrong", "stands", "falls")
"""Answers to the program's own questions: they count only where one is asked, and no step's own reply counts there."""


def control_phrases(language: str) -> Mapping[Control, tuple[str, ...]]:
    """The control phrases in the language of a BCP 47 tag, the one that is offered first; English where there are none
    of its own."""
    return _WORDS.get(language.split("-", maxsplit=1)[0].lower(), _WORDS["en"])


def offered(control: Control, language: str) -> str:
    """The phrase by which a control is offered."""
    return control_phrases(language)[control][0]


def reserved(language: str) -> frozenset[str]:
    """The phrases that count beside a step's own replies, so that no step may use them for anything else."""
    return frozenset(word for name, words in control_phrases(language).items() if name not in ANSWERS for word in words)


# The program's own questions are made of the phrases that answer them: what a prompt offers is always taken.


def right_or_wrong(language: str) -> str:
    """Asked of every read-back."""
    right = offered("right", language).capitalize()
    return tell(language, "right or wrong", right=right, wrong=offered("wrong", language))


def still_so(language: str) -> str:
    """Asked of the last confirmed step after a break."""
    return tell(language, "still so", stands=offered("stands", language), falls=offered("falls", language))


def on_or_end(language: str) -> str:
    """Said while nothing counts."""
    return tell(language, "on or end", resume=offered("resume", language), end=offered("end", language))
