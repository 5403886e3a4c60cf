"""What people say in a rehearsal to the program and not to the step: words in which no step is told."""

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Asides:
    """Whole utterances, in lower-case words with one space between."""

    offered: tuple[str, str]
    """How a hint is asked for and how it is ended, as the sentences about them say."""
    hints: frozenset[str]
    """They ask for help."""
    end: re.Pattern[str]
    """It says no more than that it is over; "my hands are done" says a deed."""
    answers: frozenset[str]
    """Where each step is prompted, these answer the prompt rather than end the rehearsal, the first time."""
    commands: frozenset[str]
    """What people say to a program that is no talk of a procedure."""
    nods: frozenset[str]
    """The same after a prompt only: from memory they are thinking aloud."""
