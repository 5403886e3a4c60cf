"""What is said in the hearing benchmark: phrases of the procedures, near misses, denials, and talk."""

import random
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import yaml

from companion.speech.speakable import words_of

CONTROLS = ("repeat", "go back", "pause", "resume", "why", "help", "stop")
_PROCEDURES = Path(__file__).parents[2] / "procedures"

_WHO = ("my sister", "the doctor", "your husband", "somebody", "the new student", "a man from the kitchen")
_DID = ("told me about", "was looking for", "has already moved", "forgot", "wants to see", "asked for", "left")
_WHAT = (
    "the yellow container",
    "the chart by the window",
    "those gloves on the shelf",
    "the vial in the fridge",
    "the big blue chair",
    "the patient in the corner",
    "a clean blanket",
    "the needle box near the door",
)
_WHEN = ("before lunch", "this morning", "again last night", "on the way home", "while I was on the phone", "today")
_SMALL_TALK = (
    "it took twenty minutes to find a parking space",
    "the weather is supposed to turn cold on Friday",
    "can you go back to the desk and ask for help",
    "please do not stop on my account carry on",
    "I told her gloves on was fine",
    "did he say the skin is clean or not",
    "I will repeat the test if the doctor wants it",
    "why would anybody pause a film at the best part",
    "that is right next to the window on the left",
    "I think we are done here for the moment",
    "the dose is given by somebody else on Sundays",
    "let me know when your hands are dry enough to write",
)


def procedure_phrases() -> list[str]:
    """Every reply that any procedure in the library asks for, each once."""
    found: set[str] = set()

    def walk(node: Any) -> None:
        if isinstance(node, dict):
            for key, value in node.items():
                if key == "replies":
                    found.update(words_of(reply) for reply in value)
                else:
                    walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    for path in sorted(_PROCEDURES.glob("*.yaml")):
        walk(yaml.safe_load(path.read_text(encoding="utf-8")))
    return sorted(found)


def near_misses(phrase: str, chance: random.Random) -> Iterator[str]:
    """What must not be taken for `phrase`: denied, embedded, cut short, one word changed."""
    words = phrase.split(" ")
    verb = next((i for i, word in enumerate(words) if word in ("is", "are", "was", "has", "were", "have")), None)
    yield " ".join([*words[: verb + 1], "not", *words[verb + 1 :]]) if verb is not None else f"not {phrase}"
    yield f"{phrase} not yet" if chance.random() < 0.5 else f"no {phrase} no"
    yield f"I told her {phrase} was fine"
    yield f"is it true that {phrase}"
    if len(words) > 2:
        yield " ".join(words[:-1])
    swaps = {"dry": "wet", "clean": "dirty", "in": "out", "on": "off", "given": "gone", "free": "three"}
    swaps |= {"complete": "incomplete", "safe": "saved", "done": "down", "right": "left", "fit": "bit"}
    for i, word in enumerate(words):
        if word in swaps:
            yield " ".join([*words[:i], swaps[word], *words[i + 1 :]])
            break


def talk(count: int, chance: random.Random) -> list[str]:
    """Sentences of a ward that are meant for nobody's ears in particular."""
    made = [" ".join(parts) for parts in product(_WHO, _DID, _WHAT, _WHEN)]
    return [*_SMALL_TALK, *chance.sample(made, max(0, count - len(_SMALL_TALK)))][:count]
