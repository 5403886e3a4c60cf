"""The few phrases that are the program's own and mean the same at every step."""

from collections.abc import Mapping
from typing import Literal

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

_WORDS: Mapping[str, Mapping[Control, str]] = {
    "en": {
        "repeat": "repeat",
        "go back": "go back",
        "pause": "pause",
        "resume": "resume",
        "why": "why",
        "help": "help",
        "stop": "stop",
        "leave out": "leave it out",
        "end": "end the session",
        "right": "exactly right",
        "wrong": "completely wrong",
        "stands": "still valid",
        "falls": "no longer valid",
    },
    "ko": {
        "repeat": "다시",
        "go back": "뒤로",
        "pause": "잠깐",
        "resume": "계속",
        "why": "왜",
        "help": "도움",
        "stop": "정지",
        "leave out": "건너뛰기",
        "end": "끝내기",
        "right": "맞습니다",
        "wrong": "틀립니다",
        "stands": "그대로입니다",
        "falls": "아닙니다",
    },
}

CONTROL_PHRASES: frozenset[str] = frozenset(_WORDS["en"].values())
"""The English ones, which no procedure may use for anything else."""


def control_phrases(language: str) -> Mapping[Control, str]:
    """The control phrases in the language of a BCP 47 tag; English where there are none of its own."""
    return _WORDS.get(language.split("-", maxsplit=1)[0].lower(), _WORDS["en"])
