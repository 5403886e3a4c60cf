"""What every recogniser must do, whatever is inside it. Each engine's test module runs all of it on its own."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from companion.errors import HearingError
from companion.ports.recogniser import Expected, Hearing, Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples


@dataclass(frozen=True)
class Subject:
    """An engine under the contract, and speech that it is known to hear."""

    recogniser: Recogniser
    say: Callable[[str], Samples]
    phrases: tuple[str, ...]
    """At least three, each of which `say` can speak clearly enough for the engine."""
    talk: tuple[str, ...]
    """Sentences that are none of the phrases."""


def hear(recogniser: Recogniser, expected: Expected, samples: Samples, block: int = 1600) -> Hearing:
    """Feed `samples` in blocks of `block` and decide."""
    listening = recogniser.listen(expected)
    for start in range(0, len(samples), block):
        listening.feed(samples[start : start + block])
        part = listening.partial()
        assert part is None or part in expected.phrases
    return listening.finish()


def well_formed(hearing: Hearing, expected: Expected, recogniser: Recogniser) -> None:
    """The promises of the fields of `Hearing`."""
    assert hearing.engine == recogniser.name
    assert 0.0 <= hearing.probability <= 1.0
    assert hearing.decide_s >= 0.0
    assert not np.isnan(hearing.margin)
    if hearing.verdict == "accepted":
        assert hearing.phrase in expected.phrases
        assert hearing.nearest == hearing.phrase
        assert hearing.reason == ""
    else:
        assert hearing.verdict in ("unclear", "other", "silence")
        assert hearing.phrase is None
        assert hearing.reason and hearing.reason == hearing.reason.strip()


def has_a_name(subject: Subject) -> None:
    assert subject.recogniser.name and subject.recogniser.language


def hears_each_phrase(subject: Subject) -> None:
    expected = Expected(subject.phrases)
    for phrase in subject.phrases:
        found = hear(subject.recogniser, expected, subject.say(phrase))
        well_formed(found, expected, subject.recogniser)
        assert (found.verdict, found.phrase) == ("accepted", phrase)


def passes_talk_by(subject: Subject) -> None:
    expected = Expected(subject.phrases)
    for sentence in subject.talk:
        found = hear(subject.recogniser, expected, subject.say(sentence))
        well_formed(found, expected, subject.recogniser)
        assert found.verdict != "accepted", (sentence, found)


def refuses_a_decoy(subject: Subject) -> None:
    """What is allowed in one step is refused in another where it is only a decoy."""
    first, *others = subject.phrases
    expected = Expected(tuple(others), (first,))
    found = hear(subject.recogniser, expected, subject.say(first))
    well_formed(found, expected, subject.recogniser)
    assert found.verdict != "accepted"


def finds_no_phrase_in_nothing(subject: Subject) -> None:
    expected = Expected(subject.phrases)
    noise = np.random.default_rng(7).normal(0, 300, 2 * SAMPLE_RATE).astype(np.int16)
    for sound in (np.zeros(0, np.int16), np.zeros(1, np.int16), np.zeros(2 * SAMPLE_RATE, np.int16), noise):
        found = hear(subject.recogniser, expected, sound)
        well_formed(found, expected, subject.recogniser)
        assert found.verdict != "accepted"
    assert hear(subject.recogniser, expected, np.zeros(0, np.int16)).verdict == "silence"


def does_not_mind_the_size_of_blocks(subject: Subject) -> None:
    expected = Expected(subject.phrases)
    sound = subject.say(subject.phrases[0])
    answers = [hear(subject.recogniser, expected, sound, block) for block in (160, 1111, len(sound))]
    assert len({(answer.verdict, answer.phrase, answer.nearest) for answer in answers}) == 1


def forgets_what_came_before(subject: Subject) -> None:
    """The same sound gets the same answer whatever was heard in between."""
    expected = Expected(subject.phrases)
    sound = subject.say(subject.phrases[0])
    before = hear(subject.recogniser, expected, sound)
    loud = np.random.default_rng(8).normal(0, 6000, SAMPLE_RATE).astype(np.int16)
    hear(subject.recogniser, Expected(subject.phrases[1:]), loud)
    after = hear(subject.recogniser, expected, sound)
    assert (before.verdict, before.phrase, before.nearest) == (after.verdict, after.phrase, after.nearest)
    assert before.margin == pytest.approx(after.margin, abs=0.05)


def survives_an_utterance_left_unfinished(subject: Subject) -> None:
    expected = Expected(subject.phrases)
    sound = subject.say(subject.phrases[0])
    subject.recogniser.listen(expected).feed(sound[: len(sound) // 2])
    assert hear(subject.recogniser, expected, sound).phrase == subject.phrases[0]


def wants_something_to_listen_for(subject: Subject) -> None:
    with pytest.raises(HearingError, match="phrase"):
        subject.recogniser.listen(Expected(()))


def knows_its_own_phrases(subject: Subject) -> None:
    assert subject.recogniser.unknown_words(subject.phrases) == ()


CHECKS = (
    has_a_name,
    hears_each_phrase,
    passes_talk_by,
    refuses_a_decoy,
    finds_no_phrase_in_nothing,
    does_not_mind_the_size_of_blocks,
    forgets_what_came_before,
    survives_an_utterance_left_unfinished,
    wants_something_to_listen_for,
    knows_its_own_phrases,
)

contract = pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
"""Put on a test `def test_contract(check, subject): check(subject)`."""
