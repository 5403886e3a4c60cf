"""English only: injection sites, which have no names in another language."""

ENGLISH_ONLY = {
    "next in turn": "Next in turn: {spot}.",
    "no further spot": "No further spot is named here. Look for one together, or ask the prescriber.",
}
