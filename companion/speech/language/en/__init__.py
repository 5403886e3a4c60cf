"""English."""

from companion.speech.language.en import asides, consent, controls, hearing, rehearsal, report, session, sites, working
from companion.speech.language.one import Language

WORDS_PER_S = 2.3
"""About 140 words a minute: a slow voice for prompts (common practice)."""

SPELLING = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "juliett", "kilo", "mike"),
    *("november", "papa", "quebec", "romeo", "sierra", "tango", "victor", "whiskey", "x-ray", "yankee", "zulu"),
)
"""What the figures and letters of a code are said as, without I, L, O, U: plain words, and the ICAO spelling alphabet
(Annex 10, volume II; from memory)."""

SENTENCES = session.SENTENCES | hearing.SENTENCES | rehearsal.SENTENCES | report.SENTENCES
ENGLISH_ONLY = consent.ENGLISH_ONLY | sites.ENGLISH_ONLY | working.ENGLISH_ONLY
ASIDES = asides.ASIDES

LANGUAGE = Language(
    sentences=SENTENCES | ENGLISH_ONLY,
    controls=controls.CONTROLS,
    asides=ASIDES,
    spelling=SPELLING,
    words_per_s=WORDS_PER_S,
)
