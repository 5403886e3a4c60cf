"""Makes `companion/record/personal/names.txt`, the names that free text is scanned for, from lists others keep.

    python -m tests.bench.privacy_names

Names: the first and last names of the 1990 census of the United States (public domain, in the package `names`) and the
name lists of the package Faker (MIT licence) for every locale in Latin script. What the English dictionary of hunspell
(in the package `spylls`) knows in lower case, such as `will` or `cotton`, is a word first; of those first names and the
most frequent last names are listed, apart, since only their place in a sentence tells a name.
"""

import calendar
import importlib
import pkgutil
import re
import unicodedata
from collections.abc import Iterable
from itertools import product
from pathlib import Path

import names
import spylls.hunspell
from faker.providers import person
from spylls.hunspell import Dictionary

ROOT = Path(__file__).parents[2]
TARGET = ROOT / "companion" / "record" / "personal" / "names.txt"
HEAD = """\
# Made by tests/bench/privacy_names.py. First names that are no English words, last names that are none (after the
# first empty line), first names that are words too (after the second), frequent last names that are (after the third).
# Sources: the 1990 census of the United States (public domain); the name lists of Faker, copyright (c) 2012 Daniele
# Faraglia, MIT licence. Nobody in particular is meant.
"""
_NAMES_ALL_THE_SAME = frozenset(
    "abigail anil becky billy brad carter chad charlie clementine colleen dean debbie derrick eddy "  # noqa: SIM905
    "felicity fritz glen graham harry heather hector hogan jasmine jasper jay jenny jimmy joey john "
    "johnny josh ken lopes lynch maria martin martins mickey mike miller molly nelson noel parker peter "
    "peters phoebe sally sheikh sheila smith ted teddy terry timothy tom tony troy veronica victor warren".split(" ")
)
"""English words by the dictionary, but hardly ever said as such on a ward."""

WORDS_ALL_THE_SAME = frozenset(
    "addison arvo bach bell biro braden braun bristol celsius chez christmas crohn darlin daw dey doppler "  # noqa: SIM905
    "dunny english foley fowler french glasgow goin gubbins hartmann hodgkin innit kelvin kilo lang "
    "lispro lister luer mar niner oke parkinson pasteur petri pullin ringer roger sanger tiffin trembly "
    "velcro wally".split(" ")
)
"""Names, but on a ward words of the trade or of everyday talk that no dictionary of American English has."""

_WITH_SUBJECT = ("i", "you", "he", "she", "it", "we", "they", "that", "what")
_VERBS = "are is was were do does did has have had ca wo would could should must need"
_SHORTENED = [
    *map("".join, product(_WITH_SUBJECT, ("'d", "'ll", "'re", "'ve", "'m"))),
    *(f"{verb}n't" for verb in _VERBS.split(" ")),
]

_FREQUENT = 1000
"""Last names that may be meant although they are words."""

FIRST, LAST = re.compile(r"first_names?\w*"), re.compile(r"last_names?\w*")


_SPELT: dict[int, str | int | None] = {
    ord(letter): usual for letter, usual in {"ł": "l", "ø": "o", "ß": "ss", "æ": "ae", "đ": "d", "ı": "i"}.items()
}


def plain(name: str) -> str:
    """`Żaneta` -> `zaneta`; the letters that no accent explains in the usual spelling."""
    folded = name.lower().translate(_SPELT)
    letters = unicodedata.normalize("NFKD", folded)
    return "".join(each for each in letters if not unicodedata.combining(each)).replace("'", "").replace("’", "")


def census(kinds: tuple[str, ...], most: int | None = None) -> set[str]:
    """The names of each kind, of which the `most` frequent come first."""
    return {line.split()[0] for kind in kinds for line in Path(names.FILES[kind]).read_text().splitlines()[:most]}


def worldwide(attribute: "re.Pattern[str]") -> set[str]:
    found: set[str] = set()
    for locale in pkgutil.iter_modules(person.__path__):
        provider = importlib.import_module(f"faker.providers.person.{locale.name}").Provider
        for name in filter(attribute.fullmatch, dir(provider)):
            listed = getattr(provider, name)
            if isinstance(listed, Iterable):
                found |= {each for each in listed if isinstance(each, str)}
    return found


def parts(listed: set[str]) -> set[str]:
    found = {part for name in listed for part in re.split(r"[\s-]+", plain(name))}
    return {part for part in found if len(part) > 2 and part.isascii() and part.isalpha()}


def main() -> None:
    english = Dictionary.from_files(str(Path(spylls.hunspell.__file__).parent / "data" / "en" / "en_US"))
    firsts = parts(census(("first:male", "first:female")) | worldwide(FIRST))
    lasts = parts(census(("last",)) | worldwide(LAST)) - firsts
    days = {day.lower() for day in (*calendar.month_name, *calendar.day_name)}
    shortened = {word.replace("'", "") for word in _SHORTENED if english.lookup(word)}
    dropped = {name for name in lasts if name.endswith("in") and english.lookup(f"{name}g")}
    firsts, lasts = (listed - days - shortened - dropped - WORDS_ALL_THE_SAME for listed in (firsts, lasts))
    words = {name for name in firsts | lasts if english.lookup(name)} - _NAMES_ALL_THE_SAME
    frequent = parts(census(("last",), _FREQUENT))
    blocks = (firsts - words, lasts - words, firsts & words, lasts & words & frequent)
    TARGET.write_text(HEAD + "\n".join("\n".join(sorted(block)) + "\n" for block in blocks))
    print(*(len(block) for block in blocks), TARGET.stat().st_size)


if __name__ == "__main__":
    main()
