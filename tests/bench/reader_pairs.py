"""`python -m tests.bench.reader_pairs OUT`: everything written for teaching, as pairs of texts with what is right.

One JSON object a line: `said`, `asked` (texts as `meaning.question` makes them), `right` (0 or 1 for each; null where
only a teacher tells), `one` (whether just one of them is right), `procedure`, `writer`. `reader_teach` learns from it
and needs nothing else of the project.
"""

import json
import random
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from companion.meaning.question import BESIDE, OTHERWISE, told, told_item, told_step
from companion.procedure.model import Procedure
from companion.speech.numbers import plain
from companion.speech.running import figures as figures_in
from companion.speech.speakable import words_of
from tests.bench.replies import HEARD, Ask, Together, Written, all_written, none_as
from tests.rehearsals import FOLDER, ROOT, TUNING, procedure, transcripts

Pair = dict[str, Any]

_OTHER_NAMES = {
    "it has been done": ("done", "confirmed", "as it should be"),
    "all is as it should be": ("as it should be", "nothing wrong", "fine"),
    "yes, it agrees": ("agrees", "as it should be", "yes", "yes, it agrees / is as it should be"),
    "no, it does not agree": ("differs", "no", "does not agree"),
}
"""Other names that a meaning may go by, so that none of them is learnt by heart."""


def _row(said: str, asked: Sequence[str], right: Sequence[int], one: bool, of: Written) -> Pair:
    return {
        **{"said": said, "asked": list(asked), "right": list(right), "one": one},
        **{"procedure": of.procedure, "writer": of.writer},
    }


def _named(meaning: str, chance: random.Random) -> str:
    if _title(meaning) != meaning:
        whole = f"not as it should be, leading to: {_title(meaning)}"
        return chance.choice((whole, whole, f"leads to: {_title(meaning)}", _title(meaning)))
    return chance.choice((meaning, meaning, *_OTHER_NAMES.get(meaning, ())))


def _some(phrases: Sequence[str], chance: random.Random) -> list[str]:
    kept = [phrase for phrase in phrases if chance.random() < 0.8]
    return kept or list(phrases[:1])


def replies(ask: Ask, of: Written, chance: random.Random, others: Sequence[str]) -> Iterator[Pair]:
    """What was said to one question, and some of what was said to quite other ones.

    What may be said at any moment is among the meanings now and then, as in a session.
    """
    said = [*ask.said, *((name, phrase) for name, phrases in ask.meanings.items() for phrase in phrases)]
    said += [("none: otherwise", text) for text in chance.sample(others, min(2, len(others)))]
    anywhere = {} if ask.id == "anywhere" or "anywhere" not in of.asks else of.asks["anywhere"].meanings
    for meaning, words in said:
        more = [name for name in anywhere if _title(name) not in map(_title, ask.meanings)]
        more = chance.sample(more, min(len(more), chance.choice((0, 0, 2, 4))))
        meanings = ask.meanings | {name: anywhere[name] for name in more}
        yield _weighed(ask.prompt, meanings, meaning, words, of, chance)
    if ask.id == "anywhere":
        asks = [each for each in of.asks.values() if each.meanings and each is not ask]
        for meaning, words in ask.said:
            one = chance.choice(asks)
            if not none_as(meaning) and _title(meaning) not in map(_title, one.meanings):
                yield _weighed(one.prompt, one.meanings | ask.meanings, meaning, words, of, chance)
    # Without what is right: only a teacher tells of these.
    for text in chance.sample(others, min(6, len(others))):
        row = _weighed(ask.prompt, ask.meanings, "none: otherwise", text, of, chance)
        yield {**row, "right": None, "one": False}


def _title(meaning: str) -> str:
    return meaning.partition("leading to: ")[2] or meaning.removeprefix("leads to: ")


def _weighed(
    prompt: str, meanings: Mapping[str, Sequence[str]], meaning: str, words: str, of: Written, chance: random.Random
) -> Pair:
    asked = [told(prompt, _named(name, chance), _some(phrases, chance)) for name, phrases in meanings.items()]
    right = none_as(meaning) or meaning
    whole = [*meanings, *BESIDE]
    return _row(words, [*asked, *(told(prompt, name) for name in BESIDE)], [int(n == right) for n in whole], True, of)


def values(ask: Ask, of: Written) -> Iterator[Pair]:
    """What was said where a value was asked for: the value told, beside every other figure that the words hold."""
    for meaning, words in ask.said:
        right = none_as(meaning) or meaning
        figures = [
            f"{number} {ask.unit}" for number in dict.fromkeys(plain(each) for each, _ in figures_in(words.split()))
        ]
        names = list(dict.fromkeys([*([] if none_as(meaning) else [meaning]), *figures]))
        if not names:
            continue
        whole = [*names, *BESIDE]
        yield _row(words, [told(ask.prompt, name) for name in whole], [int(name == right) for name in whole], True, of)


def together(block: Together, of: Written, chance: random.Random) -> Iterator[Pair]:
    """Several items answered at once: each looked at by itself."""
    items = {ask.id.partition(".")[2]: ask for ask in of.asks.values() if ask.step == block.step}
    common = " ".join(dict.fromkeys(ask.title for ask in items.values()))
    for marks, words in block.said:
        for name, ask in items.items():
            two = list(ask.meanings)[:2]
            about = chance.choice((name.replace("-", " "), ask.prompt, ask.prompt))
            asked = [told_item(common, about, _named(each, chance), _some(ask.meanings[each], chance)) for each in two]
            asked += [told_item(common, about, each) for each in BESIDE]
            right = two[marks[name]] if name in marks and marks[name] < len(two) else OTHERWISE
            yield _row(words, asked, [int(each == right) for each in (*two, *BESIDE)], True, of)


Steps = dict[str, str]
"""The text of each step of a procedure, as a talk is asked about it."""


def steps_of(procedure: Procedure) -> Steps:
    return {step.id: told_step(step.title, step.say, step.known_by[:6]) for step in procedure.steps}


def steps_written(of: Written) -> Steps:
    made = {}
    for name, first in of.steps.items():
        phrases = [
            phrase for ask in of.asks.values() if ask.step == name for phrase in next(iter(ask.meanings.values()), [])
        ]
        made[name] = told_step(first.title, first.prompt, phrases[:6])
    return made


def _alike(one: str, other: str) -> bool:
    """Whether two steps are told apart by their place rather than by their words."""
    a, b = (set(re.findall(r"[a-z]{4,}", text.lower())) for text in (one, other))
    return len(a & b) / max(1, min(len(a), len(b))) > 0.4


def talk(said: Sequence[tuple[Sequence[str], str]], steps: Steps, of: Written, chance: random.Random) -> Iterator[Pair]:
    """Each utterance beside the steps it says and a dozen that it does not."""
    for names, words in said:
        right = [name for name in names if name in steps]
        others = [
            name for name in steps if name not in names and not any(_alike(steps[name], steps[each]) for each in right)
        ]
        rows = [*right, *chance.sample(others, min(12, len(others)))]
        yield _row(words, [steps[name] for name in rows], [int(name in right) for name in rows], False, of)


def _replies_as_talk(of: Written, steps: Steps, chance: random.Random) -> Iterator[Pair]:
    """An answer that leads on says its step to nobody too; what is no answer does not."""
    for ask in of.asks.values():
        if ask.step not in steps or not ask.meanings:
            continue
        first = next(iter(ask.meanings))
        for meaning, words in ask.said:
            if len(words.split()) >= 4 and chance.random() < 0.35 and (meaning == first or none_as(meaning)):
                yield _row(words, [steps[ask.step]], [int(meaning == first)], False, of)


def pairs(written: Iterable[Written], seed: int = 1) -> Iterator[Pair]:
    """All of them, in an order that a seed fixes."""
    chance = random.Random(seed)
    known = {path.stem for path in (ROOT / "procedures").glob("*.yaml")}
    everything = list(written)
    words = [text for each in everything for ask in each.asks.values() for _, text in ask.said if len(text.split()) > 4]
    heard = {line["text"]: line["heard"] for line in map(json.loads, HEARD.read_text("utf-8").splitlines())}
    for each in everything:
        for ask in each.asks.values():
            ask.said += [(name, words_of(heard[text])) for name, text in ask.said if text in heard]
        for written_talk in each.talks:
            written_talk.said += [(steps, words_of(heard[text])) for steps, text in written_talk.said if text in heard]
        steps = steps_of(procedure(each.procedure)) if each.procedure in known else steps_written(each)
        for ask in each.asks.values():
            if ask.said:
                yield from values(ask, each) if ask.unit else replies(ask, each, chance, words)
        for block in each.together:
            yield from together(block, each, chance)
        for told_talk in each.talks:
            yield from talk(told_talk.said, steps, each, chance)
        yield from _replies_as_talk(each, steps, chance)
    for told_set in TUNING:
        for each_talk in transcripts(FOLDER / told_set):
            of = Written(each_talk.procedure, f"{told_set} {each_talk.speaker}")
            said = [(spoken.steps, spoken.text) for spoken in each_talk.said]
            yield from talk(said, steps_of(procedure(each_talk.procedure)), of, chance)


def main() -> None:
    """Write them to the path given."""
    with Path(sys.argv[1]).open("w", encoding="utf-8") as out:
        for pair in pairs(all_written("taught")):
            out.write(json.dumps(pair, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
