"""Postal and e-mail addresses in free text."""

import re

_NUMBER = (
    r"(?:\d{1,5}\s?[a-z]?|(?:(?:a|one|two|three|four|five|six|seven|eight|nine)\shundred(?:\sand)?\s)?"
    r"(?:(?:twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety)[\s-])?"
    r"(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w{3,6}teen|twenty|thirty|forty|fifty|sixty|"
    r"seventy|eighty|ninety))"
)
_SURE = (
    r"street|road|avenue|boulevard|crescent|terrace|parkway|mews|grove|queensway|quay|esplanade|gardens|acres|highway|"
    r"rue|cottages?|heights"
)
_MAYBE = (
    r"lane|drive|st|rd|ave|blvd|close|way|court|place|square|hill|park|row|view|walk|rise|green|house|farm|villas?|"
    r"gate|wharf|yard|dale|vale|bank|end|mill|lodge|manor"
)
_NO_NAME = (
    r"(?!(?:one|two|three|four|five|six|seven|eight|nine|ten|the|a|an|of|to|in|on|at|for|and|or|is|are|was|with|units?|ml|mm|mg|kg|mls|millilit\w+|minutes?|seconds?|"
    r"hours?|days?|degrees|drops?|times|fingers?|swabs?|steps?|short|by|from|per|over|out|up|down|it|its|this|that|"
    r"per|cent|ended|before|after|then|too|so|all|no|not|my|her|his|our|your|little|half|good|same|usual|last|long|"
    r"other|right|wrong|only|back|into|near|very|more|will|go|goes|put|we|i|he|she|they|you)\b)[^\W\d_][\w'’.]*"
)
_STREETS = (
    re.compile(rf"\b{_NUMBER},?\s+(?:{_NO_NAME}\s+){{1,3}}(?:{_SURE})\b", re.IGNORECASE),
    re.compile(
        rf"\b{_NUMBER},?\s+(?:{_NO_NAME}\s+){{1,3}}(?:{_MAYBE})\b\.?"
        r"(?=\s*(?:[,;.]|\Z|please\b|where\b|is where\b|number\b))",
        re.IGNORECASE,
    ),
    re.compile(rf"\b\d{{1,5}}[a-z]?,?\s+(?:(?-i:[A-Z])[\w'’.]*\s+){{1,3}}(?-i:{_MAYBE.title()})", re.IGNORECASE),
    re.compile(r"\b(?:calle|avenida|plaza|rua|via|ulica|ul\.)\s+(?-i:[A-Z])[\w. ]*?,?\s*\d", re.IGNORECASE),
    re.compile(r"\b\d{1,4},?\s+(?:rue|heol|calle|via|the)\s+(?-i:[A-Z])\w+", re.IGNORECASE),
    re.compile(r"\b[^\W\d_]{3,}(?:strasse|straße|gasse|platz|weg)\s+\d+", re.IGNORECASE),
    re.compile(rf"\b(?:{_SURE}|lane|drive),?\s+(?:number|no\.?)\s+{_NUMBER}\b", re.IGNORECASE),
)
_HOME = re.compile(
    r"\b(?:home address|postal address|address\s*:|"
    r"address (?:is|was)\s+(?!checked|right|correct|on|not|compared|the same)"
    r"|address\s+\d|(?:lives?|living|resides?|resident) (?:at|in|on|over|above|near|behind|opposite|off)|"
    r"(?:post ?code|post code|zip code|zip (?:is|\d))"
    r"|p\.?\s?o\.? box|(?:flat|apartment|apt\.?)\s+(?:\d|no|one|two|three|four|five|six|seven|eight|nine|ten|eleven|"
    r"twelve)|house is (?:on|in|at)|discharged to\s+(?-i:[A-Z])|comes from\s+(?:\d|"
    rf"{_NUMBER}\s))",
    re.IGNORECASE,
)
_CODES = re.compile(r"\b[A-Z]{1,2}\d[A-Z\d]?\s\d[A-Z]{2}\b|\b[A-Z]{2}\s\d{5}(?:-\d{4})?\b")
_MAIL = re.compile(
    r"[\w.+-]@[\w-]+\.\w|\w\s*[(\[]\s*at\s*[)\]]\s*\w|\bat(?:\s+(?!the\b|a\b)\w+){1,3}\s+dot\s+(?!of\b|at\b|on\b|is\b)\w+",
    re.IGNORECASE,
)


def postal_address(text: str) -> bool:
    return bool(_HOME.search(text) or _CODES.search(text) or any(street.search(text) for street in _STREETS))


def mail_address(text: str) -> bool:
    """Written, or said as in `name at example dot org`."""
    return _MAIL.search(text) is not None
