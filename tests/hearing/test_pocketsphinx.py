"""PocketSphinx for real, on human recordings and on flite's voices."""

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from num2words import num2words

from companion.errors import HearingError
from companion.hearing.decoys import decoys_for
from companion.hearing.pocketsphinx.engine import PocketSphinxEngine
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sound import Samples
from tests.hearing import human_speech
from tests.hearing.recogniser_contract import Subject, contract, hear
from tests.hearing.synthetic_speech import VOICES, flite

CONTROLS = ("repeat", "go back", "pause", "resume", "why", "help", "stop")

# Sets of confirmations from a nursing procedure.
NURSING = (
    ("hands are dry", "gloves are on", "name matches", "birth date matches", *CONTROLS),
    ("left abdomen", "right abdomen", "left thigh", "right thigh", "left upper arm", "right upper arm", *CONTROLS),
    ("needle is in", "fully injected", "dose is given", "sharp is safe", "waste is gone", *CONTROLS),
    ("yes", "no", "done", "ready", "confirmed", *CONTROLS),
)

# Near misses of phrases in NURSING, and denials of them.
NEAR = [
    ("gloves are on", "gloves are off"),
    ("gloves are on", "gloves are not on"),
    ("hands are dry", "hands are wet"),
    ("hands are dry", "hands are not dry"),
    ("name matches", "name does not match"),
    ("left thigh", "right thigh"),
    ("dose is given", "dose is not given"),
    ("needle is in", "needle is out"),
    ("confirmed", "not confirmed"),
    ("ready", "not ready"),
    ("done", "not done"),
    ("thirteen units", "thirty units"),
    ("fifty units", "fifteen units"),
]

TALK = (
    "did you have your breakfast yet",
    "the doctor will come round after lunch",
    "could you pass me that tray over there",
    "my daughter is coming to visit me tomorrow",
    "is the telephone ringing again",
)


@pytest.fixture(scope="module")
def engine() -> Iterator[PocketSphinxEngine]:
    made = PocketSphinxEngine()
    yield made
    made.close()


def with_decoys(phrases: tuple[str, ...], engine: PocketSphinxEngine, strict: bool = False) -> Expected:
    return Expected(phrases, decoys_for(phrases, engine.language, engine.unknown_words), strict)


def heard(engine: PocketSphinxEngine, phrases: tuple[str, ...], samples: Samples) -> Hearing:
    return hear(engine, with_decoys(phrases, engine), samples)


@contract
def test_contract(check: Callable[[Subject], None], engine: PocketSphinxEngine) -> None:
    check(Subject(engine, flite, ("gloves are on", "hands are dry", "left upper arm"), TALK[:3]))


@pytest.mark.parametrize("number", range(5))
def test_human_card_commands(engine: PocketSphinxEngine, number: int) -> None:
    recording = human_speech.cards()[number]
    assert heard(engine, (*human_speech.CARDS.values(), *CONTROLS), recording.samples).phrase == recording.text


def test_human_robot_command(engine: PocketSphinxEngine) -> None:
    recording = human_speech.go_forward()
    phrases = tuple(f"go {way} {n} meters" for way in ("forward", "backward") for n in ("two", "three", "nine", "ten"))
    assert heard(engine, (*phrases, *CONTROLS), recording.samples).phrase == recording.text


def test_human_digit_string(engine: PocketSphinxEngine) -> None:
    """Among strings of which each differs in one digit."""
    recording = human_speech.digits()
    said = recording.text.split()
    others = [
        " ".join((*said[:place], digit, *said[place + 1 :]))
        for place in range(len(said))
        for digit in ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    ]
    assert heard(engine, tuple(dict.fromkeys((*others, *CONTROLS))), recording.samples).phrase == recording.text


@pytest.mark.parametrize("phrases", NURSING, ids=lambda phrases: phrases[0])
@pytest.mark.parametrize("number", range(5))
def test_human_reading_confirms_nothing(engine: PocketSphinxEngine, phrases: tuple[str, ...], number: int) -> None:
    recording = human_speech.read_sentences()[number]
    assert heard(engine, phrases, recording.samples).verdict != "accepted"


@pytest.mark.parametrize("phrases", NURSING, ids=lambda phrases: phrases[0])
def test_human_commands_for_something_else_confirm_nothing(
    engine: PocketSphinxEngine, phrases: tuple[str, ...]
) -> None:
    others = [recording.samples for recording in human_speech.cards()]
    for samples in (*others, human_speech.digits().samples, *human_speech.other_talk()):
        assert heard(engine, phrases, samples).verdict != "accepted"


def test_every_phrase_in_every_voice(engine: PocketSphinxEngine) -> None:
    """None is taken for another. We aim at one in twenty missed; this holds what has been reached, one in ten."""
    missed, wrong, asked = [], [], 0
    for voice in VOICES:
        for phrases in NURSING:
            for phrase in phrases[: -len(CONTROLS)]:
                found = heard(engine, phrases, flite(phrase, voice))
                asked += 1
                if found.phrase is None:
                    missed.append((voice, phrase, found))
                elif found.phrase != phrase:
                    wrong.append((voice, phrase, found))
    assert not wrong
    assert len(missed) <= asked // 10, missed


def test_near_misses_are_refused(engine: PocketSphinxEngine) -> None:
    """All but one in twenty."""
    pairs = [(allowed, said, voice) for allowed, said in NEAR for voice in VOICES]
    taken = [
        (allowed, said, voice)
        for allowed, said, voice in pairs
        if heard(engine, (allowed, *CONTROLS), flite(said, voice)).verdict == "accepted"
    ]
    assert len(taken) <= len(pairs) // 20, taken


@pytest.mark.parametrize("voice", VOICES)
def test_talk_passes_by(engine: PocketSphinxEngine, voice: str) -> None:
    for sentence in TALK:
        for phrases in NURSING:
            found = heard(engine, phrases, flite(sentence, voice))
            assert found.verdict != "accepted", (sentence, found)


def test_a_thousand_numbers(engine: PocketSphinxEngine) -> None:
    numbers = tuple(num2words(n).replace("-", " ") + " units" for n in range(1, 1000))
    assert heard(engine, (*numbers, *CONTROLS), flite("forty two units")).phrase == "forty two units"


def test_part_of_a_phrase_is_not_the_phrase(engine: PocketSphinxEngine) -> None:
    """The best path may end in the middle of a phrase."""
    whole = flite("left upper arm")
    found = hear(engine, Expected(("left upper arm now please", "stop")), whole)
    assert found.verdict != "accepted"


def test_a_strict_step_asks_for_more(engine: PocketSphinxEngine) -> None:
    """Whatever is refused in an ordinary step is refused in a critical one."""
    rng = np.random.default_rng(3)
    for voice in VOICES:
        clean = flite("gloves are on", voice)
        for noise in (0, 400, 1500):
            samples = np.clip(clean + rng.normal(0, noise + 1, len(clean)), -32768, 32767).astype(np.int16)
            phrases = NURSING[0]
            easy = hear(engine, with_decoys(phrases, engine), samples)
            hard = hear(engine, with_decoys(phrases, engine, strict=True), samples)
            assert hard.margin == easy.margin
            assert not (hard.verdict == "accepted" and easy.verdict != "accepted")


def test_words_of_the_lexicon_are_heard(engine: PocketSphinxEngine) -> None:
    """CMUdict lacks both words; the engine learns them from our lexicon."""
    assert engine.unknown_words(("subcutaneous", "glargine", "qqxz")) == ("qqxz",)
    phrases = ("subcutaneous", "intramuscular", *CONTROLS)
    assert heard(engine, phrases, flite("subcutaneous")).phrase == "subcutaneous"


def test_unknown_words_are_refused_by_name(engine: PocketSphinxEngine) -> None:
    with pytest.raises(HearingError, match=r"qqxz.*lexicon-en.yaml"):
        engine.listen(Expected(("insert the qqxz",)))


def test_feeding_after_the_end(engine: PocketSphinxEngine) -> None:
    listening = engine.listen(Expected(("stop",)))
    listening.finish()
    with pytest.raises(HearingError, match="ended"):
        listening.feed(flite("stop"))
