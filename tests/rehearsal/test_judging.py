"""Judging, on a small procedure of our own; what an examiner would note is common practice, written down by us."""

from collections.abc import Collection, Sequence

import pytest

from companion.meaning.likely import Likely
from companion.rehearsal.judging import Hint, Rules, judge
from companion.rehearsal.judging.debrief import LONGEST_S, summary
from companion.rehearsal.judging.spoken import numbers_in, seconds_in, value_in
from companion.session.findings import Finding, Heard, Judgement, judgement_from_json, judgement_to_json
from companion.speech.language import seconds_to_say
from companion.speech.values import ChoiceValue, NumberValue
from tests.rehearsals import procedure

INSULIN = procedure("subcutaneous-insulin")
STRETCH = ("hands-before-preparing", "label-first", "wipe-stopper", "stopper-dry")
RIGHT = (
    "I clean my hands for thirty seconds",
    "I compare the label with the order",
    "I scrub the stopper with alcohol",
    "I let the stopper dry for thirty seconds",
)


def judged(
    *texts: str,
    rules: Rules | None = None,
    gap_ms: int = 3000,
    hints: tuple[Hint, ...] = (),
    dictated: Collection[int] = (),
) -> Judgement:
    heard = [Heard(text=text, at_ms=n * gap_ms, until_ms=n * gap_ms + 2000, n=n) for n, text in enumerate(texts)]
    rules = rules or Rules(only=STRETCH)
    return judge(INSULIN, heard, rules, took_ms=len(texts) * gap_ms, hints=hints, dictated=dictated)


def kinds(judgement: Judgement) -> list[tuple[str, str, bool]]:
    return [(finding.kind, finding.step, finding.critical) for finding in judgement.findings]


def test_nothing_to_find() -> None:
    judgement = judged(*RIGHT)
    assert kinds(judgement) == []
    assert judgement.passed
    assert [mark.step for mark in judgement.marks] == list(STRETCH)


@pytest.mark.parametrize("gone", range(4))
def test_each_critical_step_left_out_is_found_and_fails_it(gone: int) -> None:
    judgement = judged(*(text for n, text in enumerate(RIGHT) if n != gone))
    assert kinds(judgement) == [("omitted", STRETCH[gone], True)]
    assert not judgement.passed


def test_without_the_must_pass_rule_it_is_told_and_fails_nothing() -> None:
    assert judged(*RIGHT[1:], rules=Rules(only=STRETCH, must_pass=False)).passed


def test_an_order_broken_is_told_with_its_reason_and_both_places_in_the_talk() -> None:
    (finding,) = judged(RIGHT[0], RIGHT[1], RIGHT[3], RIGHT[2]).findings
    assert (finding.kind, finding.step, finding.needed) == ("out of order", "stopper-dry", "wipe-stopper")
    (because,) = [after.because for after in INSULIN.step("stopper-dry").after if after.step == "wipe-stopper"]
    assert because in finding.reason
    assert [heard.text for heard in finding.heard] == [RIGHT[3], RIGHT[2]]


def test_an_order_of_ones_own_that_breaks_no_rule_is_no_finding() -> None:
    """Allergies and glucose both follow identification and not each other (the procedure's own `after`)."""
    only = ("allergies", "glucose")
    texts = ("I measure the glucose, it is 120", "Any allergies? None")
    assert kinds(judged(*texts, rules=Rules(only=only))) == []


def test_a_time_too_short_is_told_where_it_was_neither_said_nor_waited() -> None:
    said = judged(RIGHT[0].replace("thirty", "five"), *RIGHT[1:])
    assert kinds(said) == [("too short", "hands-before-preparing", True)]
    silent = judged("I clean my hands", *RIGHT[1:])
    assert kinds(silent) == [("too short", "hands-before-preparing", False)]
    waited = kinds(judged("I clean my hands", *RIGHT[1:], gap_ms=25_000))
    assert not any(step in ("hands-before-preparing", "label-first") for _, step, _ in waited), "a wait is no pause"


def test_who_types_is_not_told_that_time_has_to_pass() -> None:
    """Typed, a wait can only be told; that twenty seconds had not "passed" was said after each."""
    texts = ("I clean my hands", *RIGHT[1:])
    (typed,) = judged(*texts).findings
    assert "20 seconds, was not told" in typed.reason and "passed" not in typed.reason
    (spoken,) = judged(*texts, dictated=range(len(texts))).findings
    assert "20 seconds neither passed nor were said aloud" in spoken.reason


def test_a_wrong_value_is_that_of_the_case_or_out_of_range_or_against_the_working() -> None:
    dose = Rules(only=("ordered-dose",), values={"ordered-dose": "18"})
    assert kinds(judged("The dose is eighty units", rules=dose)) == [("wrong value", "ordered-dose", True)]
    assert kinds(judged("The dose is eighteen units", rules=dose)) == []
    assert kinds(judged("The dose is 400 units", rules=Rules(only=("ordered-dose",)))) == [
        ("wrong value", "ordered-dose", True)
    ]
    worked = Rules(only=("ordered-dose", "stock-strength", "syringe-scale", "volume"))
    order = (
        "The dose is eighteen units",
        "The strength on the vial is 100 units per milliliter",
        "The syringe with the orange cap is marked for 100 units per milliliter",
    )
    # An insulin syringe marked for the strength on the label: the mark is the dose (ISO 8537).
    assert kinds(judged(*order, "I calculate the mark, that is 18 units", rules=worked)) == []
    assert kinds(judged(*order, "I calculate the mark, that is 180 units", rules=worked)) == [
        ("wrong value", "volume", True)
    ]


def test_a_check_that_is_none() -> None:
    only = Rules(only=("double-check",))
    assert kinds(judged("My colleague works it out alone and gets the same", rules=only)) == []
    together = judged("My colleague and I work out the same figure together", rules=only)
    assert kinds(together) == [("not independent", "double-check", True)]
    assert kinds(judged("The second nurse gets the same figure", rules=only)) == [
        ("not independent", "double-check", False)
    ]


def test_hints_and_pauses_are_told_and_fail_nothing() -> None:
    judgement = judged(*RIGHT[:3], hints=(Hint("stopper-dry", 9000),), rules=Rules(only=STRETCH[:3]))
    assert kinds(judgement) == [("hint", "stopper-dry", False)]
    late = [Heard(text=text, at_ms=n * 15_000, until_ms=n * 15_000 + 1000, n=n) for n, text in enumerate(RIGHT)]
    typed = judge(INSULIN, late, Rules(only=STRETCH), took_ms=60_000)
    assert kinds(typed) == [], "who types is silent meanwhile"
    found = judge(INSULIN, late, Rules(only=STRETCH), took_ms=60_000, dictated=range(4))
    assert kinds(found) == [("hesitation", "wipe-stopper", False), ("hesitation", "stopper-dry", False)]
    assert found.passed


def test_what_was_spoken_of_and_did_not_count_is_told_with_its_words() -> None:
    (finding,) = judged(*RIGHT[:2], "later I will scrub the stopper", RIGHT[3]).findings
    assert (finding.kind, finding.step) == ("omitted", "wipe-stopper")
    assert "for later" in finding.reason
    assert finding.heard[0].text == "later I will scrub the stopper"


def test_the_spoken_summary_fits_forty_seconds_and_three_things_whatever_happened() -> None:
    """40 s is the bar set for it; 140 words a minute is a slow voice (common practice)."""
    judgement = judge(INSULIN, [], Rules(), took_ms=1000)
    assert len(judgement.practise) == 3
    assert seconds_to_say(summary(judgement), "en") <= LONGEST_S == 40
    assert judgement.practise[0] in summary(judgement)


def test_what_matters_most_comes_first() -> None:
    judgement = judged("I clean my hands", RIGHT[1], RIGHT[3])
    assert [finding.critical for finding in judgement.findings] == sorted(
        (finding.critical for finding in judgement.findings), reverse=True
    )
    assert "wipe the stopper" in judgement.practise[0]


@pytest.mark.parametrize(
    ("text", "value"),
    [("it is eighteen units", "18"), ("18 units", "18"), ("one fifty, no, one one five", "115"), ("no figure", None),
     ("nought point one two of a mil", "0.12")],
)  # fmt: skip
def test_the_last_number_said_counts(text: str, value: str | None) -> None:
    spec = NumberValue(type="number", unit="units", least=1, most=200)
    assert value_in(spec, text) == value


def test_a_choice_is_found_in_free_talk() -> None:
    spec = ChoiceValue(type="choice", choices=("left abdomen", "right abdomen"))
    assert value_in(spec, "today I use the right abdomen") == "right abdomen"
    assert value_in(spec, "the other side") is None


@pytest.mark.parametrize(
    ("text", "length"),
    [("for twenty seconds", 20), ("half a minute", 30), ("for 2 minutes", 120), ("a full minute", 60), ("dry", None)],
)
def test_lengths_of_time(text: str, length: int | None) -> None:
    assert seconds_in(text) == length
    assert list(numbers_in("nothing here")) == []


def test_a_finding_names_its_step() -> None:
    for finding in judged("I clean my hands").findings:
        assert isinstance(finding, Finding)
        assert INSULIN.step(finding.step).title == finding.title
        assert finding.title in finding.reason


class Tells:
    """A reader of whose odds a test is sure."""

    name = "told by the test"

    def __init__(self, *odds: tuple[str, float]) -> None:
        self._odds = odds

    def read(self, talk: Sequence[str]) -> list[list[Likely]]:
        rows: list[list[Likely]] = [[] for _ in talk]
        for n, (step, odds) in enumerate(self._odds):
            if step:
                rows[n].append(Likely(step, odds, 0))
        return rows


def told(words: str, odds: float, dictated: Collection[int] = ()) -> tuple[str, Judgement]:
    """What is told of wiping the stopper, said in `words` that the reader gives `odds`; the others are plain."""
    texts = (*RIGHT[:2], words, RIGHT[3])
    heard = [Heard(text=text, at_ms=n * 3000, until_ms=n * 3000 + 2000, n=n) for n, text in enumerate(texts)]
    reader = Tells(*((step, 9.0 if step != "wipe-stopper" else odds) for step in STRETCH))
    judgement = judge(INSULIN, heard, Rules(only=STRETCH), took_ms=12_000, reader=reader, dictated=dictated)
    assert {mark.step for mark in judgement.marks} >= set(STRETCH) - {"wipe-stopper"}
    found = {finding.kind for finding in judgement.of("wipe-stopper")} & {"omitted", "unclear"}
    return next(iter(found), "said"), judgement


@pytest.mark.parametrize(
    ("words", "odds", "what"),
    [
        (RIGHT[2], 5.0, "said"),
        (RIGHT[2], -9.0, "unclear"),
        ("that too", 9.0, "unclear"),
        ("that too", -9.0, "omitted"),
        ("I haven't scrubbed the stopper yet, I do it later", -9.0, "omitted"),
    ],
)
def test_words_and_reader_together_make_a_critical_step_sure(words: str, odds: float, what: str) -> None:
    assert told(words, odds)[0] == what


def test_a_critical_step_in_doubt_is_neither_said_nor_left_out_and_the_educator_decides() -> None:
    _, judgement = told("that too", 9.0)
    assert not judgement.passed
    assert judgement.outcome == "undecided" and judgement.undecided
    (doubtful,) = judgement.doubtful
    assert (doubtful.step, doubtful.critical, [heard.n for heard in doubtful.heard]) == ("wipe-stopper", False, [2])
    assert "wipe-stopper" not in [mark.step for mark in judgement.marks]
    assert "One point was not surely heard, and your educator decides." in summary(judgement)
    _, missed = told("that too", -9.0)
    assert missed.outcome == "not passed" and not missed.undecided


def test_surer_odds_never_make_a_step_less_said() -> None:
    ranks = said_ranks(())
    assert ranks == sorted(ranks)
    assert ranks[0] < ranks[-1]


def said_ranks(dictated: Collection[int]) -> list[int]:
    order = [told("my wipe for the bung", tenths / 10, dictated)[0] for tenths in range(-60, 80, 5)]
    return [("omitted", "unclear", "said").index(what) for what in order]


def test_what_a_dictation_wrote_is_given_more_for_the_words_it_lost() -> None:
    typed, dictated = said_ranks(()), said_ranks(range(4))
    assert all(one <= other for one, other in zip(typed, dictated, strict=True))
    assert typed != dictated


class TellsMore(Tells):
    """It takes the last utterance to say one more step, perhaps."""

    def __init__(self, step: str, odds: float) -> None:
        super().__init__(*((name, 9.0) for name in STRETCH if name != step))
        self._more = Likely(step, odds, 0)

    def read(self, talk: Sequence[str]) -> list[list[Likely]]:
        rows = super().read(talk)
        rows[-1].append(self._more)
        return rows


def test_a_doubt_never_quotes_the_words_of_another_step() -> None:
    """ "Perhaps: I wipe the top of the vial" had been shown for the syringe."""
    texts = (*RIGHT[:2], RIGHT[3])
    heard = [Heard(text=text, at_ms=n * 3000, until_ms=n * 3000 + 2000, n=n) for n, text in enumerate(texts)]
    doubted = []
    for tenths in range(-40, 80, 10):
        reader = TellsMore("wipe-stopper", tenths / 10)
        judgement = judge(INSULIN, heard, Rules(only=STRETCH), took_ms=9000, reader=reader)
        doubted += [finding for finding in judgement.doubtful if finding.step == "wipe-stopper"]
    assert doubted[0].heard == () and doubted[0].at_ms is None
    assert "in words that say other steps" in doubted[0].reason
    assert doubted[-1].heard[0].text == RIGHT[3], "with high odds they were taken to say both"


def test_the_program_of_before_left_unclear_without_words_what_it_could_not_recognise() -> None:
    body = judgement_to_json(judged(*RIGHT))
    finding = Finding(kind="unclear", step="gloves", title="Gloves", reason="No words tell it.")
    older = body | {"version": 2, "findings": [finding.model_dump(mode="json")]}
    assert judgement_from_json(older).unrecognisable == ("gloves",)
    assert judgement_from_json(older).doubtful == ()
    assert [each.step for each in judgement_from_json(older | {"version": 3}).doubtful] == ["gloves"]
