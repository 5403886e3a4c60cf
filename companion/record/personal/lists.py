"""The lists of words that lie beside this: blocks with an empty line between them."""

from functools import cache
from pathlib import Path


def blocks(name: str) -> list[list[str]]:
    """The words of each block of a list, without the lines that begin with `#`."""
    lines = (Path(__file__).parent / f"{name}.txt").read_text(encoding="ascii").splitlines()
    body = "\n".join(line for line in lines if not line.startswith("#"))
    return [block.split() for block in body.split("\n\n")]


@cache
def _signs() -> dict[str, frozenset[str]]:
    return {block[0]: frozenset(block[1:]) for block in blocks("signs") if block}


def sign(name: str) -> frozenset[str]:
    """The words of one sign: `signs.txt` tells what each is for."""
    return _signs()[f"{name}:"]
