"""Makes `companion/record/personal/names.txt`, the names that free text is scanned for, from lists others keep.

    python -m tests.bench.privacy_names

Names: the first and last names of the 1990 census of the United States (public domain, in the package `names`) and the
name lists of the package Faker (MIT licence) for every locale in Latin script. What the English dictionary of hunspell
(in the package `spylls`) or SCOWL's small British list knows in lower case, such as `will` or `cotton`, is a word
first; of those first names and the most frequent last names are listed, apart, since only their place in a sentence
tells a name. A first name stands apart again where it is at least twice as frequent among people as the word is in
writing (the package `wordfreq` counted): `grace` is a name sooner than `angle` is.
"""

import calendar
import importlib
import pkgutil
import re
from collections import defaultdict
from collections.abc import Iterable
from itertools import product
from pathlib import Path

import names
import spylls.hunspell
from faker.providers import person
from spylls.hunspell import Dictionary
from wordfreq import word_frequency  # type: ignore[import-not-found]  # not among the dependencies

from companion.record.personal.free_text import plain

ROOT = Path(__file__).parents[2]
TARGET = ROOT / "companion" / "record" / "personal" / "names.txt"
HEAD = """\
# Made by tests/bench/privacy_names.py. First names that are no English words, last names that are none (after the
# first empty line), first names that are words too: names sooner than words (after the second) and words sooner than
# names (after the third); frequent last names that are words (after the fourth).
# Sources: the 1990 census of the United States (public domain); the name lists of Faker, copyright (c) 2012 Daniele
# Faraglia, MIT licence. Nobody in particular is meant.
"""
_NAMES_ALL_THE_SAME = frozenset(
    "abigail aline amir ani anil becky billy brad carter chad charlie clementine colleen debbie derrick eddy "  # noqa: SIM905
    "felicity fritz glen graham harry hector hogan jasmine jasper jay jenny jimmy joey john johnny josh ken "
    "lopes lynch maria martin martins mickey mike miller molly nelson noel parker peter peters phoebe reis "
    "sally shaikh sheikh sheila smit smith ted teddy terry timothy tom tony troy veronica warren".split()
)
"""English words by the dictionary, but hardly ever said as such on a ward."""

WORDS_ALL_THE_SAME = frozenset(
    "abdo addison africa american anus apgar arab arabian arb areola argentina arvo austria babinski bach bal "  # noqa: SIM905
    "belfast bell berlin birmingham biro braden braun brazil brighton bristol brit britain brits cairo "
    "cambridge cardiff catalan celsius cha chez christmas crohn cuba czech dae darlin daw dec denmark des dey "
    "dif diss doppler dozer dublin dundee dunny durham earing easter eco eid ender eng england english erm "
    "eth europe fam fil finland foley fowler french galea gan german germany getter glasgow goin grammes "
    "greek gro groshong gubbins hartmann hartmanns heimlich hodgkin homans hoo imo ing innit iran irish irl "
    "ishihara jamaica kelvin kilo kirschner kocher kussmaul labrum lah lang latin leeds leh lipoma lispro "
    "lister liverpool london lor lotta luer lunger mak malay malta manchester mar mcburney mech mens mins mis "
    "mol mon muslim nan nares nas nicu niner norway ogg oka oke okey oki palmar parkinson pasteur pax ped "
    "peri peru petri philippine philippines pinna poland portugal pos prem prez prima pullin purpura pye "
    "quant raf ramadan raynaud rester ringer rinne roger rom romberg ros rouleau russian sanger sartorius sas "
    "sayin scotland sellick senegal seo sept ser sha sheffield slovak snellen sook sos spall spanish stabile "
    "ster sud sudan swiss syria tagalog texas thai theres thu tiffin toon trembly tung tuohy turks uhm vas "
    "vee velcro vena venter venturi vid vienna vis wah wally ward warsaw whitacre yeh zurich".split()
)
"""Names, but on a ward words of the trade or of everyday talk that no dictionary of American English has."""

_WORDS_ELSEWHERE = frozenset(
    "dann das dem den der las les los und".split()  # noqa: SIM905
)
"""Last names by the lists of other countries, and the smallest words of their languages."""

_NAMES_SOONER = frozenset(
    "blessing comfort dean destiny faith goodness harmony heather hope jade joy justice lucky mercy patience "  # noqa: SIM905
    "peace poppy precious promise prosper summer sunny victor".split()
)
"""First names that the census has seldom or not at all, and names on a ward sooner than words."""

_THINGS_SOONER = frozenset(
    "barb candida crystal don dong drew dung ethyl hung meta pasty sang sol sung van ward".split()  # noqa: SIM905
)
"""First names that the census has often, and yet words on a ward sooner than names."""

_WITH_SUBJECT = ("i", "you", "he", "she", "it", "we", "they", "that", "what")
_VERBS = "are is was were do does did has have had ca wo would could should must need"
_SHORTENED = [
    *map("".join, product(_WITH_SUBJECT, ("'d", "'ll", "'re", "'ve", "'m"))),
    *(f"{verb}n't" for verb in _VERBS.split(" ")),
]

_FREQUENT = 1000
"""Last names that may be meant although they are words."""

_SOONER = 2.0
"""Times that a first name is as frequent among people as the word is in writing, from which it is a name sooner."""

DICT = Path("/usr/share/dict")

FIRST, LAST = re.compile(r"first_names?\w*"), re.compile(r"last_names?\w*")


def scowl(size: str, capitals: bool = False, kinds: Iterable[str] = ("american", "british")) -> set[str]:
    """What it writes small; with `capitals` what it does not."""
    found: set[str] = set()
    for kind in kinds:
        for word in (DICT / f"{kind}-english-{size}").read_text(encoding="utf-8").split():
            if word[0].isupper() == capitals or word.startswith("I'"):
                found.add(plain(word.removesuffix("'s")))
    return found


def names_sooner(listed: set[str]) -> set[str]:
    """Of first names that are words too, those that are more often a name."""
    borne: defaultdict[str, float] = defaultdict(float)
    for kind in ("first:male", "first:female"):
        for line in Path(names.FILES[kind]).read_text().splitlines():
            name, percent = line.split()[:2]
            borne[name.lower()] += float(percent)
    often = {name for name in listed if borne[name] / 200 > _SOONER * word_frequency(name, "en")}
    return listed & (often - _THINGS_SOONER | _NAMES_SOONER)


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
    british = scowl("small", kinds=("british",))
    firsts = parts(census(("first:male", "first:female")) | worldwide(FIRST))
    lasts = parts(census(("last",)) | worldwide(LAST)) - firsts
    days = {day.lower() for day in (*calendar.month_name, *calendar.day_name)}
    shortened = {word.replace("'", "") for word in _SHORTENED if english.lookup(word)}
    dropped = {name for name in lasts if name.endswith("in") and english.lookup(f"{name}g")}
    firsts, lasts = (
        listed - days - shortened - dropped - WORDS_ALL_THE_SAME - _WORDS_ELSEWHERE for listed in (firsts, lasts)
    )
    words = {name for name in firsts | lasts if english.lookup(name) or name in british} - _NAMES_ALL_THE_SAME
    also, frequent = firsts & words, parts(census(("last",), _FREQUENT))
    sooner = names_sooner(also)
    blocks = (firsts - words, lasts - words, sooner, also - sooner, (firsts | lasts) & words & frequent)
    TARGET.write_text(HEAD + "\n".join("\n".join(sorted(block)) + "\n" for block in blocks))
    print(*(len(block) for block in blocks), TARGET.stat().st_size)


if __name__ == "__main__":
    main()
