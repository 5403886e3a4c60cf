"""Korean."""

from companion.speech.language.ko import asides, rehearsal, report, session

DIGITS = (("공", "영"), ("일",), ("이",), ("삼",), ("사",), ("오",), ("육",), ("칠",), ("팔",), ("구",))
"""How each digit is said by itself, the program's own way first."""

WORDS_PER_S = 1.5
"""A slow voice: about four syllables a second, a little under three to a word between spaces (from memory)."""

SPELLING = (
    *(words[0] for words in DIGITS),
    *("알파", "브라보", "찰리", "델타", "에코", "폭스트롯", "골프", "호텔", "줄리엣", "킬로", "마이크"),
    *("노벰버", "파파", "퀘벡", "로미오", "시에라", "탱고", "빅터", "위스키", "엑스레이", "양키", "줄루"),
)
"""What the figures and letters of a code are said as, as in English: the ICAO spelling alphabet as Koreans say
it (from memory)."""

SENTENCES = session.SENTENCES | rehearsal.SENTENCES | report.SENTENCES
ASIDES = asides.ASIDES
