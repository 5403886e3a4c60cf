"""Korean."""

from companion.speech.language.ko import asides, controls, hearing, rehearsal, report, session
from companion.speech.language.one import Language

_DIGITS = (("공", "영"), ("일",), ("이",), ("삼",), ("사",), ("오",), ("육",), ("칠",), ("팔",), ("구",))
_WORDS_PER_S = 1.5
"""A slow voice: about four syllables a second, a little under three to a word between spaces (from memory)."""

_SPELLING = (
    *(words[0] for words in _DIGITS),
    *("알파", "브라보", "찰리", "델타", "에코", "폭스트롯", "골프", "호텔", "줄리엣", "킬로", "마이크"),
    *("노벰버", "파파", "퀘벡", "로미오", "시에라", "탱고", "빅터", "위스키", "엑스레이", "양키", "줄루"),
)
"""What the figures and letters of a code are said as, as in English: the ICAO spelling alphabet as Koreans say
it (from memory)."""

SENTENCES = session.SENTENCES | hearing.SENTENCES | rehearsal.SENTENCES | report.SENTENCES

LANGUAGE = Language(
    sentences=SENTENCES,
    controls=controls.CONTROLS,
    asides=asides.ASIDES,
    spelling=_SPELLING,
    digits=_DIGITS,
    words_per_s=_WORDS_PER_S,
)
