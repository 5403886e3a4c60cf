"""English."""

from companion.speech.language.en import asides, rehearsal, report, session

WORDS_PER_S = 2.3
"""About 140 words a minute: a slow voice for prompts (common practice)."""

SENTENCES = session.SENTENCES | rehearsal.SENTENCES | report.SENTENCES
ENGLISH_ONLY = session.ENGLISH_ONLY
ASIDES = asides.ASIDES
