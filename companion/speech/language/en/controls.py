"""English: the phrases that mean the same at every step."""

from collections.abc import Mapping

from companion.speech.language.controls import Control

CONTROLS: Mapping[Control, tuple[str, ...]] = {
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
}
