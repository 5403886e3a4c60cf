"""Sentences made of a file's own words."""


def sentence(text: str) -> str:
    """`text` with one mark at its end, whether its author wrote one or not."""
    plain = text.rstrip()
    return plain if plain.endswith(("!", "?")) else plain.rstrip(".") + "."
