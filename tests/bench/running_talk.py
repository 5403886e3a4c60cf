"""False confirmations while people talk among themselves: `python -m tests.bench.running_talk [--minutes N]`.

One stream as a microphone brings it: recordings of people (those of the Debian packages that hearing_human.py names)
and flite's voices, with pauses between, heard through the endpointer as in a session. What may be said changes every
half minute among the sets of phrases of the library's procedures, early taking and decoys included. The baseline is
PocketSphinx's grammar with no rejection at all, which hears a phrase in nearly every utterance. The last row is the
scorer at steps of the library's procedures, where a reply in own words counts too.
"""

import argparse
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from companion.conversation.ear import Ear
from companion.conversation.expecting import expect
from companion.conversation.own_words import OwnWords
from companion.errors import CompanionError, UsageError
from companion.hearing.decoys import decoys_for
from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.tally import share
from companion.hearing.vad import best_detector
from companion.machine.machine import Machine
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.session.state import State
from tests.bench.hearing_baselines import PlainGrammar
from tests.bench.hearing_human import prompts, test_data
from tests.bench.hearing_texts import CONTROLS, procedure_phrases, talk
from tests.bench.hearing_voices import VOICES, say
from tests.procedures.facts import facts
from tests.procedures.library import NAMES, procedure
from tests.procedures.walking import Walk

_BLOCK = SAMPLE_RATE * 32 // 1000
_CHANGE_S = 30.0
ENGINES = ("scorer", "pocketsphinx", "vosk")
OWN_WORDS = "scorer, own words"


@dataclass
class Count:
    seconds: float = 0.0
    utterances: int = 0
    confirmed: list[str] = field(default_factory=list)
    commanded: list[str] = field(default_factory=list)
    asked_again: int = 0
    asked_back: list[str] = field(default_factory=list)

    def taken(self, text: str, phrase: str, told: str) -> None:
        """Note `text` taken for `phrase`: a reply that confirms, or a word such as "repeat" that answers nothing."""
        # An utterance that is a reply word for word is no false confirmation.
        if phrase != text:
            (self.commanded if phrase in CONTROLS else self.confirmed).append(f"`{text}` -> `{phrase}` {told}".strip())


def stream(minutes: float, chance: random.Random) -> Iterator[tuple[str, Samples]]:
    """What is said and its sound, a pause of 0.3 to 1.5 s after it; human speech in half of it as long as it lasts."""
    human = [*prompts(), *test_data()]
    chance.shuffle(human)
    said = talk(2000, chance)
    chance.shuffle(said)
    left = minutes * 60 * SAMPLE_RATE
    for text in said:
        spoken = human.pop() if human and chance.random() < 0.5 else None
        sound = spoken.sound() if spoken else say(text, chance.choice(VOICES))
        pause = np.zeros(int(chance.uniform(0.3, 1.5) * SAMPLE_RATE), np.int16)
        yield (spoken.text if spoken else text), np.concatenate([sound, pause])
        left -= sound.size + pause.size
        if left <= 0:
            return


def phrase_sets(chance: random.Random) -> Iterator[tuple[str, ...]]:
    """Two replies of the library and the controls, as at a step."""
    phrases = procedure_phrases()
    while True:
        yield (*chance.sample(phrases, 2), *CONTROLS)


def heard_in(sound: Samples, ear: Ear) -> Iterator[Hearing]:
    """What the ear makes of each utterance that ends in a sound."""
    for at in range(0, sound.size, _BLOCK):
        hearing = ear.hear(sound[at : at + _BLOCK])
        if hearing is not None and hearing.verdict != "silence":
            yield hearing


def through_the_ear(engine: str, minutes: float) -> Count:
    """How often `engine` took talk for a reply. Raises CompanionError where the engine is not there."""
    chance = random.Random(17)
    recogniser = open_engine(engine, None, "en-US")
    ear = Ear(recogniser, Endpointer(best_detector()))
    sets = phrase_sets(random.Random(23))
    count = Count()
    allowed: tuple[str, ...] = ()
    change_at = 0.0
    for text, sound in stream(minutes, chance):
        if count.seconds >= change_at:
            allowed = next(sets)
            decoys = decoys_for(allowed, "en-US", recogniser.unknown_words)
            ear.expect(Expected(allowed, decoys), frozenset(allowed))
            change_at = count.seconds + _CHANGE_S
        for hearing in heard_in(sound, ear):
            count.utterances += 1
            count.asked_again += hearing.verdict == "unclear"
            if hearing.phrase is not None:
                count.taken(text, hearing.phrase, f"({hearing.probability:.2f})")
        count.seconds += sound.size / SAMPLE_RATE
    recogniser.close()
    return count


def moments(chance: random.Random) -> Iterator[tuple[OwnWords, Machine, State]]:
    """Steps at which something is asked, of all procedures."""
    reader, missing = open_reader_of_meanings("en-US")
    if reader is None:
        raise UsageError(missing)
    found: list[tuple[OwnWords, Machine, State]] = []
    for name in NAMES:
        walk = Walk(procedure(name), facts(name).given)
        machine = Machine(walk.procedure)
        own = OwnWords(machine, reader)
        while not walk.walker.state.ended:
            found.append((own, machine, walk.walker.state))
            walk.answer()
    while True:
        yield chance.choice(found)


def in_a_session(minutes: float) -> Count:
    """How often the scorer and the reader of meanings took talk for a reply. Raises CompanionError without them."""
    recogniser = open_engine("scorer", None, "en-US")
    ear = Ear(recogniser, Endpointer(best_detector()))
    asked, count, change_at = moments(random.Random(29)), Count(), 0.0
    for text, sound in stream(minutes, random.Random(17)):
        if count.seconds >= change_at:
            own, machine, state = next(asked)
            allowed = machine.allowed(state)
            expect(ear, allowed, machine.strict(state), machine.harmless(state))
            change_at = count.seconds + _CHANGE_S
        for hearing in heard_in(sound, ear):
            count.utterances += 1
            meant = own.meant(state, hearing.written) if hearing.written and not ear.early else None
            step = machine.current(state)
            where = f"{machine.procedure.id} {step.id if step else ''}"
            if hearing.phrase is not None:
                count.taken(text, hearing.phrase, f"({hearing.probability:.2f})")
            elif meant is None:
                count.asked_again += hearing.verdict == "unclear"
            elif meant.asks:
                count.asked_back.append(f"`{hearing.written}` -> `{meant.phrase}`? at {where}")
            else:
                count.taken(text, meant.phrase, f"at {where}, heard as `{hearing.written}`")
        count.seconds += sound.size / SAMPLE_RATE
    recogniser.close()
    return count


def with_the_plain_grammar(minutes: float) -> Count:
    """The baseline, one utterance of the stream after the other."""
    plain, sets, count = PlainGrammar(), phrase_sets(random.Random(23)), Count()
    for text, sound in stream(minutes, random.Random(17)):
        allowed = next(sets)
        heard, _ = plain.hear(sound, allowed)
        count.utterances += 1
        if heard is not None:
            count.taken(text, heard, "")
        count.seconds += sound.size / SAMPLE_RATE
    return count


def row(name: str, count: Count, baseline: float) -> str:
    hours = count.seconds / 3600
    wrong = len(count.confirmed)
    rate = wrong / hours
    return (
        f"| {name} | {60 * hours:.0f} min | {share(wrong, count.utterances)} | {rate:.1f} | {rate / baseline:.4f} "
        f"| {len(count.commanded) / hours:.1f} | {count.asked_again} | {len(count.asked_back)} |"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--engine", action="append", default=[], choices=(*ENGINES, OWN_WORDS))
    options = parser.parse_args()
    plain = with_the_plain_grammar(options.minutes)
    baseline = len(plain.confirmed) / (plain.seconds / 3600)
    print("| ear | talk | taken for a reply | an hour | to baseline | commands an hour | asked again | asked back |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    print(row(PlainGrammar.name, plain, baseline), flush=True)
    for engine in options.engine or ("scorer", "pocketsphinx", OWN_WORDS):
        try:
            own_words = engine == OWN_WORDS
            count = in_a_session(options.minutes) if own_words else through_the_ear(engine, options.minutes)
        except CompanionError as error:
            print(f"{engine}: left out: {error}", file=sys.stderr)
            continue
        print(row(engine, count, baseline), flush=True)
        for line in [*count.confirmed, *count.commanded, *count.asked_back]:
            print(f"  {line}")


if __name__ == "__main__":
    main()
