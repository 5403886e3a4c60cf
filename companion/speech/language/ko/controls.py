"""Korean: the phrases that mean the same at every step."""

from collections.abc import Mapping

from companion.speech.language.controls import Control

CONTROLS: Mapping[Control, tuple[str, ...]] = {
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
}
