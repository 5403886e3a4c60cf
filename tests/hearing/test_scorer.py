"""The phrase scorer as an ear: the contract of every recogniser, and human recordings it was not fitted on."""

import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.errors import ModelError
from companion.hearing.decoys import decoys_for
from companion.hearing.files import read_sound
from companion.hearing.scorer.engine import PhraseScorer, ScorerListening, open_scorer
from companion.ports.recogniser import DecidesAhead, Expected, Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.hearing.recogniser_contract import Subject, contract, hear
from tests.hearing.scorer_parts import CARDS, COMMAND, SENTENCES, need_human_sound, scorer_model
from tests.hearing.synthetic_speech import flite
from tests.realparts import need

CONTROLS = ("repeat", "go back", "pause", "resume", "why", "help", "stop")


@pytest.fixture
def scorer() -> Iterator[PhraseScorer]:
    engine = PhraseScorer(scorer_model())
    yield engine
    engine.close()


def recorded(phrase: str) -> Samples:
    """Card commands of pocketsphinx-testdata, by their transcripts."""
    clips = {"ten of clubs": "001", "four queen of clubs": "002", "seven of clubs": "003", "five five": "004"}
    return read_sound(CARDS / f"{clips[phrase]}.wav") if phrase in clips else read_sound(SENTENCES / phrase)


@contract
def test_contract(check: Callable[[Subject], None], scorer: PhraseScorer) -> None:
    need_human_sound()
    talk = tuple(path.name for path in sorted(SENTENCES.glob("*.wav"))[:3])
    recogniser: Recogniser = scorer
    check(Subject(recogniser, recorded, ("seven of clubs", "ten of clubs", "five five"), talk))


CARD_PHRASES = (
    "ten of clubs",
    "four queen of clubs",
    "seven of clubs",
    "five five",
    "eight of spades four of clubs seven of hearts",
    "queen of clubs",
    "ten of hearts",
    "eight of spades",
)


@pytest.mark.parametrize(
    ("clip", "phrase"),
    # Transcripts of Debian package pocketsphinx-testdata.
    [
        ("001", CARD_PHRASES[0]),
        ("002", CARD_PHRASES[1]),
        ("003", CARD_PHRASES[2]),
        ("004", CARD_PHRASES[3]),
        ("005", CARD_PHRASES[4]),
    ],
)
def test_card_commands(scorer: PhraseScorer, clip: str, phrase: str) -> None:
    need_human_sound()
    expected = Expected((*CARD_PHRASES, *CONTROLS), decoys_for((*CARD_PHRASES, *CONTROLS)))
    assert hear(scorer, expected, read_sound(CARDS / f"{clip}.wav")).phrase == phrase


def test_a_command_to_a_robot(scorer: PhraseScorer) -> None:
    need_human_sound()
    sound = np.fromfile(COMMAND, np.int16)
    phrases = ("go forward ten meters", "go backward ten meters", "go forward two meters", "turn left", "stop")
    assert hear(scorer, Expected(phrases, decoys_for(phrases)), sound).phrase == "go forward ten meters"


@pytest.mark.parametrize("clip", ["0870", "0880", "0890", "0920", "0930"])
def test_read_sentences_confirm_nothing(scorer: PhraseScorer, clip: str) -> None:
    need_human_sound()
    phrases = ("hands are dry", "gloves are on", "needle is in", "dose is given", "confirmed", "yes", "no", *CONTROLS)
    sound = read_sound(SENTENCES / f"sense_and_sensibility_01_austen_64kb-{clip}.wav")
    assert hear(scorer, Expected(phrases, decoys_for(phrases)), sound).verdict == "other"


def test_a_part_of_what_was_said_is_not_it(scorer: PhraseScorer) -> None:
    """Card command 005 holds three cards; none of them alone was said."""
    need_human_sound()
    phrases = ("eight of spades", "four of clubs", "seven of hearts")
    assert hear(scorer, Expected(phrases), read_sound(CARDS / "005.wav")).verdict != "accepted"


def test_idle_talk_and_harmless_parts_are_no_rivals_but_denials_and_numbers_are(scorer: PhraseScorer) -> None:
    phrases = ("gloves are on", "not done", "fourteen units")
    decoys = ("okay", "gloves are", "are on", "gloves are off", "done", "fourteen", "units", "forty units")
    assert scorer.lattice(Expected(phrases, decoys)).phrases == (
        *phrases,
        "gloves are off",
        "done",
        "units",
        "forty units",
    )


@pytest.mark.parametrize(
    ("voice", "phrase", "more"),
    [
        ("kal16", "needle is in", "not yet"),
        ("slt", "dose is given", "not"),
        ("rms", "dose is given", "no"),
        ("kal16", "cap is off", "no"),
        ("awb", "cap is off", "no"),
    ],
)
def test_a_denial_said_after_a_phrase_never_confirms_it(
    scorer: PhraseScorer, voice: str, phrase: str, more: str
) -> None:
    """These were taken for the phrase before a denial in the free writing counted, and "now" was no idle word."""
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    expected = Expected((phrase, "repeat", "stop"), decoys_for((phrase, "repeat", "stop")))
    assert hear(scorer, expected, flite(phrase, voice)).phrase == phrase
    assert hear(scorer, expected, flite(f"{phrase} {more}", voice)).phrase is None


@pytest.mark.parametrize(
    ("voice", "said", "expected"),
    [
        ("rms", "sixteen units", "fifteen units"),
        ("slt", "thirteen units", "thirty units"),
        ("kal16", "fourteen", "forty"),
        ("awb", "fourteen", "fifteen"),
        ("rms", "sixteenth", "sixty"),
    ],
)
def test_another_number_freely_written_is_never_taken_for_the_phrase(
    scorer: PhraseScorer, voice: str, said: str, expected: str
) -> None:
    """Each was taken for the phrase before the number in the free writing counted."""
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    allowed = Expected((expected, "repeat", "stop"))
    assert hear(scorer, allowed, flite(expected, voice)).phrase == expected
    hearing = hear(scorer, allowed, flite(said, voice))
    assert hearing.phrase is None and hearing.reason.startswith("it sounded like")


def talk_behind(speech: Samples, below_db: float) -> Samples:
    """Speech with a second before and after it, and five read sentences at once that far below it all the time."""
    sentences = [read_sound(path).astype(np.float64) for path in sorted(SENTENCES.glob("*.wav"))]
    room = np.sum([np.resize(each / np.sqrt(np.mean(each**2)), speech.size + 2 * SAMPLE_RATE) for each in sentences], 0)
    gain = np.sqrt(np.mean(speech.astype(np.float64) ** 2) / np.mean(room**2) / 10 ** (below_db / 10))
    mixed = np.pad(speech.astype(np.float64), SAMPLE_RATE) + gain * room
    return np.asarray(np.rint(mixed).clip(-32768, 32767), np.int16)


def test_talk_before_and_after_a_phrase_is_not_written_into_it(scorer: PhraseScorer) -> None:
    """Human speech 6 dB above five human voices, all of pocketsphinx-testdata."""
    need_human_sound()
    expected = Expected((*CARD_PHRASES, *CONTROLS), decoys_for((*CARD_PHRASES, *CONTROLS)))
    for clip, phrase in zip(("001", "002", "003", "004", "005"), CARD_PHRASES, strict=False):
        speech = read_sound(CARDS / f"{clip}.wav")
        assert hear(scorer, expected, talk_behind(speech, 6)).phrase == phrase
    assert hear(scorer, expected, talk_behind(np.fromfile(COMMAND, np.int16), 6)).phrase is None


def test_half_a_minute_of_talk_is_no_phrase(scorer: PhraseScorer) -> None:
    need_human_sound()
    talk = np.tile(read_sound(SENTENCES / "sense_and_sensibility_01_austen_64kb-0870.wav"), 5)
    heard = hear(scorer, Expected(("confirmed",)), talk)
    assert (heard.verdict, heard.reason) == ("other", "it was longer than any phrase")


def test_only_latin_letters_are_known(scorer: PhraseScorer) -> None:
    assert scorer.unknown_words(["gloves on", "naïve", "정지 on", "it's"]) == ("정지",)


def test_dictation(scorer: PhraseScorer) -> None:
    need_human_sound()
    heard = scorer.dictate(read_sound(SENTENCES / "sense_and_sensibility_01_austen_64kb-0930.wav"))
    assert heard.text.lower().rstrip(".") == "he might even have been made amiable himself"
    assert [word for word, _ in heard.words] == heard.text.split(" ")
    assert all(chance <= 0 for _, chance in heard.words)
    assert scorer.dictate(np.zeros(SAMPLE_RATE, np.int16)).text == ""


def with_quiet(samples: Samples, seconds: float) -> Samples:
    quiet = np.random.default_rng(3).normal(0, 12, int(seconds * SAMPLE_RATE)).astype(np.int16)
    return np.concatenate([samples, quiet])


def test_a_decision_begun_in_a_pause_is_used(scorer: PhraseScorer) -> None:
    need_human_sound()
    sound = with_quiet(read_sound(CARDS / "003.wav"), 0.2)
    listening = scorer.listen(Expected(("seven of clubs", "ten of clubs")))
    assert isinstance(listening, DecidesAhead)
    assert isinstance(listening, ScorerListening)
    listening.feed(sound)
    listening.prepare()
    ahead = listening.ahead()
    assert ahead is not None
    early = ahead.result()
    listening.feed(with_quiet(np.zeros(0, np.int16), 0.4))
    assert listening.partial() == "seven of clubs"
    answer = listening.finish()
    assert (answer.phrase, answer.margin) == (early.phrase, early.margin)


def test_speech_that_goes_on_makes_it_void(scorer: PhraseScorer) -> None:
    need_human_sound()
    listening = scorer.listen(Expected(("seven of clubs", "ten of clubs")))
    assert isinstance(listening, ScorerListening)
    listening.feed(with_quiet(read_sound(CARDS / "003.wav"), 0.2))
    listening.prepare()
    listening.feed(read_sound(CARDS / "001.wav"))
    assert listening.partial() is None
    assert listening.finish().verdict != "accepted"


def test_closing_ends_the_worker() -> None:
    need_human_sound()
    engine = PhraseScorer(scorer_model())
    before = threading.active_count()
    listening = engine.listen(Expected(("seven of clubs",)))
    assert isinstance(listening, ScorerListening)
    listening.feed(read_sound(CARDS / "003.wav"))
    listening.prepare()
    engine.close()
    assert threading.active_count() <= before


def test_an_incomplete_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "tokenizer.bin").write_bytes(b"")
    with pytest.raises(ModelError, match=r"encoder_model\.ort.*companion models fetch scorer"):
        open_scorer(tmp_path)
