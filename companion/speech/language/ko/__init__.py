"""Korean."""

from companion.speech.language.ko import asides, rehearsal, report, session

DIGITS = (("공", "영"), ("일",), ("이",), ("삼",), ("사",), ("오",), ("육",), ("칠",), ("팔",), ("구",))
"""How each digit is said by itself, the program's own way first."""

WORDS_PER_S = 1.5
"""A slow voice: about four syllables a second, a little under three to a word between spaces (from memory)."""

SENTENCES = session.SENTENCES | rehearsal.SENTENCES | report.SENTENCES
ASIDES = asides.ASIDES
