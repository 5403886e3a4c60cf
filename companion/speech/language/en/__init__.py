"""English."""

from companion.speech.language.en import asides, consent, rehearsal, report, session, sites, working

WORDS_PER_S = 2.3
"""About 140 words a minute: a slow voice for prompts (common practice)."""

SENTENCES = session.SENTENCES | rehearsal.SENTENCES | report.SENTENCES
ENGLISH_ONLY = consent.ENGLISH_ONLY | sites.ENGLISH_ONLY | working.ENGLISH_ONLY
ASIDES = asides.ASIDES
