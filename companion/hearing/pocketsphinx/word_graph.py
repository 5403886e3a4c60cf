"""Phrases as a small graph of words: shared beginnings and shared endings are stored, and searched, once."""

from collections.abc import Iterable

Arc = tuple[int, int, str]
"""From one state to another by one word."""


def word_graph(phrases: Iterable[str]) -> tuple[list[Arc], list[int]]:
    """The arcs, from state 0, and the states where a phrase is whole.

    A thousand spoken numbers share nearly all their words, so the graph is the smallest that says exactly these
    phrases: a tree of beginnings whose equal branches are then joined.
    """
    root: dict[str, dict] = {}  # type: ignore[type-arg]
    end = ""
    for phrase in phrases:
        node = root
        for word in phrase.split():
            node = node.setdefault(word, {})
        node[end] = {}

    arcs: list[Arc] = []
    finals: list[int] = []
    known: dict[tuple[tuple[str, int], ...], int] = {}
    count = 1

    def place(node: dict[str, dict], at: int | None) -> int:  # type: ignore[type-arg]
        nonlocal count
        below = tuple((word, place(child, None)) for word, child in sorted(node.items()) if word != end)
        key = (*below, (end, 0)) if end in node else below
        if at is None:
            if key in known:
                return known[key]
            at = count
            count += 1
            known[key] = at
        arcs.extend((at, child, word) for word, child in below)
        if end in node:
            finals.append(at)
        return at

    place(root, 0)
    return arcs, finals
