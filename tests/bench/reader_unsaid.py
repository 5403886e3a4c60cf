"""Deeds turned into what does not count: put off, denied, forgotten, broken off, left to others.

The transcripts hold too few of these beside so many deeds. The sentences need not be good ones; it is for the reader to
learn that such words take a deed back, whatever it is.
"""

import random
import re

OFTEN = 0.05
"""Share of the utterances that say one step which are turned."""

_DEED = re.compile(
    r"^(?:(?:so|and|then|okay|ok|now|right|well|first|next),? )*(?:i|we)"
    r"(?:'ll|'m going to|'m gonna|'m|'ve| will| have| am| would now| would| just)? (?:just |then |now )?(.+?)[.!]?$",
    re.IGNORECASE,
)
_ALONE = (
    "I forgot to", "I haven't yet", "I never", "I won't", "I did not", "remind me to", "I still have to", "later I'll",
    "someone else will", "the day staff will", "I'm not going to", "before that I would have to", "I nearly forgot to",
    "nobody", "another time I'll", "I can't",
)  # fmt: skip
_BROKEN_OFF = (
    "I was going to", "I meant to", "I should", "I should have", "I'd", "I'll", "I was about to", "I wanted to",
    "I would", "I am to", "I was supposed to", "I thought I had",
)  # fmt: skip
_WHY = (
    "but the phone is ringing", "but she has nodded off", "once I've found the bottle", "when the lift comes", "later",
    "in a minute", "in a sec", "after the round", "if there is time", "but somebody called me", "tomorrow",
    "only the dispenser was empty", "so that will have to wait", "but not now", "but I didn't", "when they are back",
    "once this is done", "but he went out", "only there was none", "as soon as the screen works",
)  # fmt: skip
_TO_COME = ("not done yet,", "still to come,", "that comes later,", "no, not yet,", "what is missing is", "imagine")


def unsaid(text: str, chance: random.Random) -> str:
    """The same deed, not done."""
    deed = _DEED.match(text)
    if deed is None:
        return f"{chance.choice(_TO_COME)} {text}"
    if chance.random() < 0.5:
        return f"{chance.choice(_ALONE)} {deed.group(1)}"
    words = f"{chance.choice(_BROKEN_OFF)} {deed.group(1)} {chance.choice(_WHY)}"
    return words if chance.random() < 0.7 else f"{chance.choice(_WHY)} {words}"
