"""What counts as having said a step. The sentences are ours (common practice of examiners, written down by us)."""

import pytest

from companion.meaning.assign import assign
from companion.meaning.ideas import ideas_of, within
from companion.meaning.mentions import mentions
from companion.meaning.ways import Way, misfit, parse_way
from companion.procedure.proofreading.wanting import wanting
from companion.session.findings import Heard
from tests.rehearsals import procedure

INSULIN = procedure("subcutaneous-insulin")
IDEAS = ideas_of(INSULIN)
LIBRARY = ("subcutaneous-insulin", "vaccine-deltoid", "capillary-glucose")


def said(*texts: str) -> list[str]:
    """Steps that these utterances say, in order, each once."""
    heard = [Heard(text=text, at_ms=n * 1000, until_ms=n * 1000 + 900, n=n) for n, text in enumerate(texts)]
    found = assign([m for each in heard for m in mentions(IDEAS, each)], IDEAS.places)
    return list(dict.fromkeys(each.step for each in found))


@pytest.mark.parametrize(
    ("text", "steps"),
    [
        ("I wipe the rubber stopper with alcohol", ["wipe-stopper"]),
        ("The stopper has been wiped", ["wipe-stopper"]),
        ("wiping the bung with a fresh swab", ["wipe-stopper"]),
        ("I would wipe the stopper", ["wipe-stopper"]),
        ("I wipe the stopper and let it dry, then I draw air into the syringe",
         ["wipe-stopper", "stopper-dry", "draw-air"]),
        ("Are you allergic to anything?", ["allergies"]),
        ("There are no bubbles", ["bubbles"]),
        # A self-correction counts, with what came before it taken back.
        ("I draw up the dose at eye level, no wait, first I wipe the stopper", ["wipe-stopper"]),
        ("I forgot to wipe the stopper, I do that now", ["wipe-stopper"]),
        ("Before I draw up the dose I wipe the stopper", ["wipe-stopper"]),
    ],
)  # fmt: skip
def test_what_counts(text: str, steps: list[str]) -> None:
    assert said(text) == steps


@pytest.mark.parametrize(
    "text",
    [
        "I would not wipe the stopper",
        "I am not going to wipe the stopper",
        "later I will wipe the stopper",
        "I will wipe the stopper in a minute",
        "should I wipe the stopper now",
        "do I wipe the stopper first?",
        "don't forget to wipe the stopper",
        "I must remember to wipe the stopper",
        "I forgot to wipe the stopper",
        "before I wipe the stopper",
        "my tutor always says wipe the stopper",
        "people often wipe the stopper for too short a time",
        "without wiping the stopper",
        "the stopper has yet to be wiped",
    ],
)
def test_what_does_not(text: str) -> None:
    assert "wipe-stopper" not in said(text)


@pytest.mark.parametrize("text", ["Um.", "...", "?", "erm, uh"])
def test_an_utterance_without_words_says_nothing(text: str) -> None:
    assert said(text) == []


def test_the_same_words_mean_the_step_that_is_due() -> None:
    """Hands are cleaned four times in the same words; what was said around tells which."""
    assert said("I lay everything out on the tray", "I clean my hands", "I compare the label with the order") == [
        "gather",
        "hands-before-preparing",
        "label-first",
    ]
    assert said("into the sharps bin", "gloves off", "I clean my hands", "I write it in the chart") == [
        "sharps",
        "gloves-off",
        "hands-after",
        "document",
    ]


def test_words_point_to_where_and_when_they_were_said() -> None:
    heard = Heard(text="so now I wipe the stopper", at_ms=10_000, until_ms=12_000, n=4)
    (mention,) = [each.mention for each in assign(mentions(IDEAS, heard), IDEAS.places)]
    assert mention.words == "wipe the stopper"
    assert 10_000 < mention.at_ms < 12_000
    assert mention.heard is heard


@pytest.mark.parametrize(
    ("written", "complaint"),
    [
        ("WASHING hand", "`WASHING` is no set of words"),
        ("-hand", "names no word that must be said"),
        ("hand,palm", "is not written as words"),
        ("=Hands", "followed by the id of a step"),
    ],
)
def test_a_way_that_is_not_well_written_is_named(written: str, complaint: str) -> None:
    assert complaint in misfit(written)


def test_ways_that_one_sentence_says_overlap() -> None:
    def overlap(one: Way, other: Way) -> bool:
        return within(one, other) or within(other, one)

    assert overlap(parse_way("CLEAN hand"), parse_way("wash|rinse hand|finger"))
    assert not overlap(parse_way("CLEAN hand"), parse_way("CLEAN stopper"))
    assert not overlap(parse_way("CLEAN hand -patient"), parse_way("wash hand patient"))


@pytest.mark.parametrize("name", LIBRARY)
def test_every_step_of_the_library_can_be_said(name: str) -> None:
    assert [want for want in wanting(procedure(name)) if "`ideas`" in want] == []


def test_a_word_in_passing_does_not_take_the_step_from_the_words_that_say_it() -> None:
    """`reading` and `no one shouting` sound like other steps; where each was truly said tells."""
    talk = (
        "I'm reading myself in, I've been signed off and nobody is shouting for me",
        "I read the order, it is signed and due",
        "Her last reading is one hundred and twenty milligrams per deciliter",
    )
    heard = [Heard(text=text, at_ms=n * 1000, until_ms=n * 1000 + 900, n=n) for n, text in enumerate(talk)]
    found = assign([m for each in heard for m in mentions(IDEAS, each)], IDEAS.places)
    assert [(each.step, each.mention.heard.n) for each in found] == [
        ("ready", 0),
        ("order", 1),
        ("last-dose", 1),
        ("glucose", 2),
    ]


def test_what_was_taken_back_and_never_done_was_not_said() -> None:
    assert "gloves" not in said("I clean my hands", "gloves on, wait, no", "I choose the left side of the belly")
