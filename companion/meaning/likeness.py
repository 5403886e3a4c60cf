"""Steps an utterance may say although none of their ways stands in it: by shared words, by words once heard."""

from collections.abc import Sequence
from dataclasses import replace

from companion.meaning.clauses import clauses
from companion.meaning.ideas import Ideas
from companion.meaning.lexicon import tokens
from companion.meaning.mention import Mention, mention_of
from companion.meaning.ways import Match
from companion.meaning.words import Word
from companion.session.findings import Heard


def alike(ideas: Ideas, heard: Heard, said: Sequence[Word], why: Sequence[str]) -> list[Mention]:
    """The steps that share words with the utterance. It is for the order to tell whether one was meant."""
    places: dict[str, int] = {}
    for place, word in enumerate(said):
        if not why[place] and not word.asks:
            places.setdefault(word.stem, place)
            if word.number:
                places.setdefault("#", place)
    scores = {
        step: sum(weight for key, weight in topic.items() if key in places) for step, topic in ideas.topic.items()
    }
    most = max(scores.values(), default=0.0)
    made = []
    for step, score in scores.items():
        if score >= max(_TELLING, most / 3):
            match = Match(frozenset(places[key] for key in ideas.topic[step] if key in places))
            level = f"{sum(score > limit for limit in _LEVELS)}{' most' if score == most else ''}"
            made.append(replace(mention_of({step: 0}, heard, said, match), faint=True, telling=level))
    return made


_TELLING = 0.4
"""How much the words must say: 1 is a word that no other step has."""
_LEVELS = (0.6, 1.1, 1.7, 2.5)


def known(ideas: Ideas, heard: Heard, said: Sequence[Word], why: Sequence[str]) -> list[Mention]:
    """The steps that people were heard to say in such words, of the whole utterance or of a clause of it."""
    if ideas.lexicon is None or ideas.reader is not None:
        return []
    best: dict[str, tuple[float, range]] = {}
    for part in (range(len(said)), *clauses(said, wide=False)):
        for step, chance in ideas.lexicon.likely(list(tokens(said, why, part))).items():
            if step in ideas.ways and chance > best.get(step, (0.0, part))[0]:
                best[step] = chance, part
    made = []
    for step, (chance, part) in best.items():
        level = sum(chance >= limit for limit in _CHANCES)
        if level:
            mention = mention_of({step: 0}, heard, said, Match(frozenset(part)))
            made.append(replace(mention, faint=True, telling=f"known {level}"))
    return made


_CHANCES = (0.02, 0.06, 0.15, 0.3, 0.55, 0.8, 0.95)
