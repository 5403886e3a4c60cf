"""What is mistaken for what in a language. Common confusions of speech; only English has a table so far."""

from dataclasses import dataclass


@dataclass(frozen=True)
class DecoyTable:
    """The confusions of one language, all in lower case."""

    opposites: dict[str, tuple[str, ...]]
    """Words that make the phrase mean something else."""
    sounds: dict[str, tuple[str, ...]]
    """Words that sound alike and mean something else. No mere rhymes: one that nobody would say only steals replies."""
    not_: str
    denied_patterns: tuple[str, ...]
    """Ways of denying a whole phrase, which stands at `{}`."""
    denials: frozenset[str]
    """Words whose presence means that the phrase is a denial already."""
    light: frozenset[str]
    """Words that say nothing alone."""
    openers: frozenset[str]
    """Words that a reply may have in it besides without meaning anything else: "okay, and the gloves are on"."""
    fillers: tuple[str, ...]
    """Short talk heard in any room."""


def _both_ways(*pairs: str) -> dict[str, tuple[str, ...]]:
    """Groups of alternatives, each written `a/b/c`, as a table from each word to the others of its groups."""
    table: dict[str, list[str]] = {}
    for pair in pairs:
        group = pair.split("/")
        for word in group:
            others = table.setdefault(word, [])
            others.extend(other for other in group if other != word and other not in others)
    return {word: tuple(others) for word, others in table.items()}


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


ENGLISH = DecoyTable(
    opposites=_both_ways(
        "on/off",
        "in/out",
        "up/down",
        "left/right",
        "upper/lower",
        "before/after",
        "open/closed",
        "opened/closed",
        "opened/unopened",
        "clean/dirty",
        "clear/cloudy",
        "dry/wet",
        "full/empty",
        "yes/no",
        "correct/incorrect",
        "right/wrong",
        "matched/mismatched",
        "matches/does not match",
        "match/do not match",
        "done/undone",
        "given/taken",
        "checked/unchecked",
        "confirmed/unconfirmed",
        "labelled/unlabelled",
        "labeled/unlabeled",
        "dated/outdated",
        "sterile/not sterile",
        "safe/unsafe",
        "able/unable",
        "used/unused",
        "capped/uncapped",
        "intact/not intact",
        "visible/not visible",
        "present/absent",
        "normal/abnormal",
        "positive/negative",
        "high/low",
        "more/less",
        "first/second",
        "start/stop",
        "go/no",
        "ready/not ready",
        "agree/disagree",
        "accepted/refused",
        "accepts/refuses",
        "consents/refuses",
        "known/unknown",
        "is/is not",
        "are/are not",
        "has/has not",
        "have/have not",
        "was/was not",
        "can/cannot",
        "no/some",
        "all/not all",
        "arm/leg",
        "abdomen/thigh",
        "old/new",
        "long/short",
        "hot/cold",
        "fast/slow",
        "last/first",
        "morning/evening",
        "drawn/thrown",
        "seen/not seen",
    ),
    sounds=_both_ways(
        "thirteen/thirty",
        "fourteen/forty",
        "fifteen/fifty",
        "sixteen/sixty",
        "seventeen/seventy",
        "eighteen/eighty",
        "nineteen/ninety",
        "fifty/sixty",
        "thirty/forty",
        "twelve/twenty",
        "five/nine",
        "one/nine",
        "four/five",
        "six/seven",
        "two/ten",
        "three/two",
        "eight/eighty",
        "zero/four",
        "units/minutes",
        "milliliters/milligrams",
        "millilitres/milligrams",
        "milligrams/micrograms",
    ),
    not_="not",
    denied_patterns=("not {}", "no {}", "{} not yet", "not yet {}", "haven't {}", "don't {}"),
    denials=_words(
        "no not never none cannot can't couldn't don't doesn't didn't haven't hasn't hadn't isn't aren't wasn't "
        "weren't won't wouldn't shouldn't mustn't needn't"
    ),
    light=_words("the a an is are was of in on to at up it i my and has have been be not no"),
    openers=_words("a an the and so okay ok um uh hmm well yes yeah"),
    fillers=(
        *("okay", "yeah", "um", "uh", "hmm", "oh", "well", "so", "hello", "hi", "what"),
        *("thank you", "thanks", "please", "sorry", "excuse me", "good morning", "all right", "of course"),
        *("i know", "i see", "i don't know", "let me see", "what is it", "where is it", "here you are"),
        *("just a moment", "one moment", "wait a minute", "hold on", "not yet", "not now", "come in", "are you okay"),
    ),
)

_TABLES = {"en": ENGLISH}


def table_for(language: str) -> DecoyTable | None:
    """The table of a language's two-letter code, or None."""
    return _TABLES.get(language)
