"""What the program's own phrases do."""

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
