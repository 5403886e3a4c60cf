"""Makes `companion/record/personal/looks.txt`, by which a word of no list is weighed: does it look like a name or not?

    python -m tests.bench.privacy_looks

Counted are three letters in a row in the names of `names.txt` and in the words of `words.txt`: `ngo` begins many more
names, `ypo` stands in many more words. Of 1,500 first names that were not counted 8 % look like words at the limit that
talk has in general, 0.3 % at the one beside a sign of a person; of 3,000 words 79 % and 37 %.
"""

import math
import random
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from companion.record.personal.english import english_words
from companion.record.personal.looks import letters, looks
from companion.record.personal.names import listed

TARGET = Path(__file__).parents[2] / "companion" / "record" / "personal" / "looks.txt"
HEAD = """\
# Made by tests/bench/privacy_looks.py from names.txt and words.txt: three letters in a row, ^ before a word and $ after
# it, and a tenth of the logarithm of how many times as often words have them as names do, first names counted thrice.
"""
_FIRST = 3
"""First names tell more than last names, most of which are of the United States."""
_HELD_OUT = (1500, 3000)


def weights(firsts: Iterable[str], lasts: Iterable[str], words: Iterable[str]) -> dict[str, int]:
    names, others = Counter[str](), Counter[str]()
    for name in firsts:
        names.update(dict.fromkeys(letters(name), _FIRST))
    for name in lasts:
        names.update(set(letters(name)))
    for word in words:
        others.update(set(letters(word)))
    kinds = names.keys() | others.keys()
    more = names.total() + len(kinds) / 2
    rest = others.total() + len(kinds) / 2
    told = {kind: math.log((others[kind] + 0.5) / rest * more / (names[kind] + 0.5)) for kind in kinds}
    return {kind: round(10 * weight) for kind, weight in told.items() if round(10 * weight)}


def main() -> None:
    shuffled = random.Random(1)
    firsts, lasts = sorted(listed().firsts), sorted(listed().lasts)
    words = sorted(word for word in english_words() if len(word) > _FIRST)
    for each in (firsts, words):
        shuffled.shuffle(each)
    first, word = _HELD_OUT
    some = weights(firsts[first:], lasts, words[word:])
    for limit in (0.3, 2.5):
        shares = (
            sum(looks(each, some) > limit for each in kept) / len(kept) for kept in (firsts[:first], words[:word])
        )
        print(f"above {limit}: " + ", ".join(f"{share:.1%}" for share in shares))
    lines = (f"{kind} {weight}" for kind, weight in sorted(weights(firsts, lasts, words).items()))
    TARGET.write_text(HEAD + "\n".join(lines) + "\n", encoding="ascii")
    print(TARGET.stat().st_size)


if __name__ == "__main__":
    main()
