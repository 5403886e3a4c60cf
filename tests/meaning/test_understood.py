"""What replies in people's own words amount to: the decisions with a scripted reader, and the taught one on a few."""

from collections.abc import Mapping, Sequence
from datetime import date

import pytest

from companion.meaning.question import BESIDE, NOT_YET, Question
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.meaning.understood import (
    LEAD,
    LIKELY,
    SURE,
    SURE_CRITICAL,
    Item,
    Understood,
    understand,
    understand_items,
    understand_value,
)
from companion.speech.values import ChoiceValue, DateValue, NumberValue
from tests.realparts import need

TODAY = date(2026, 11, 29)
NAME = Question(
    "Ask the patient for their name. Is it the one on the band?",
    {"yes, it agrees": ("name matches",), "no, it does not agree": ("different name",)},
    critical=True,
)
TRAY = Question("Put everything on the tray.", {"it has been done": ("tray is complete",)})
DOSE = NumberValue.model_validate({"type": "number", "unit": "units", "least": "1", "most": "100"})


class Scripted:
    """A reader that says what it was told to: odds by the name that stands in brackets."""

    name = "scripted"

    def __init__(self, odds: Mapping[str, float]) -> None:
        self._odds = odds

    def odds(self, said: str, asked: Sequence[str]) -> list[float]:
        return [next((odd for name, odd in self._odds.items() if f"[{name}]" in text), -9.0) for text in asked]


def test_a_phrase_comes_before_any_reader() -> None:
    against = Scripted({"no, it does not agree": 9.0})
    assert understand(NAME, "Name matches.", against) == Understood("yes, it agrees", "phrase", "yes, it agrees")


@pytest.mark.parametrize("said", ["yes", "Yeah, okay.", "done", "all good", "that's right"])
def test_a_bare_yes_does_what_is_expected_where_nothing_critical_hangs_on_it(said: str) -> None:
    assert understand(TRAY, said, None).meaning == "it has been done"
    critical = understand(NAME, said, None)
    assert (critical.meaning, critical.how, critical.bare) == (None, "asked back", True)


@pytest.mark.parametrize("said", ["yes no", "yes the other one", "not done", "no more than that", ""])
def test_what_says_more_is_no_bare_answer(said: str) -> None:
    assert understand(TRAY, said, None).how is None


def test_a_bare_no_needs_just_one_other_meaning() -> None:
    assert understand(NAME, "no", None).nearest == "no, it does not agree"
    assert understand(TRAY, "no", None).how is None


def test_what_is_sure_is_taken_and_what_is_likely_is_asked_back() -> None:
    agrees = "yes, it agrees"
    assert understand(NAME, "that's her", Scripted({agrees: SURE_CRITICAL + 0.1})).how == "own words"
    likely = understand(NAME, "that's her", Scripted({agrees: SURE_CRITICAL - 0.1}))
    assert (likely.meaning, likely.how, likely.nearest) == (None, "asked back", agrees)
    assert understand(NAME, "that's her", Scripted({agrees: LIKELY - 0.1})).how is None


def test_two_meanings_as_likely_as_each_other_are_never_taken() -> None:
    both = Scripted({"yes, it agrees": SURE + 2, "no, it does not agree": SURE + 2 - LEAD / 2})
    assert understand(NAME, "well it was", both).meaning is None


@pytest.mark.parametrize("beside", BESIDE)
def test_what_is_no_answer_wins(beside: str) -> None:
    odds = Scripted({"it has been done": SURE + 1, beside: SURE + 2})
    assert understand(TRAY, "nearly have it all", odds).how is None


def test_without_a_reader_only_phrases_and_bare_answers_count() -> None:
    assert understand(NAME, "yeah that's her", None) == Understood(None, None)
    assert understand_value("How many?", DOSE, "it's eighteen units", None, TODAY).value is None
    whole = understand_value("How many?", DOSE, "eighteen units", None, TODAY)
    assert whole.value is not None and whole.value.written() == "18 units"


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ("it's eighteen units", "18"),
        ("18 units today", "18"),
        ("eighteen of rapid acting", "18"),
        ("eighteen i make it, eighteen units", "18"),
        ("one hundred", "100"),
    ],
)
def test_a_value_inside_a_sentence(said: str, text: str) -> None:
    found = understand_value("How many?", DOSE, said, Scripted({f"{text} units": 5.0}), TODAY)
    assert found.value is not None and (found.value.text, found.value.unit) == (text, "units")


@pytest.mark.parametrize("said", ["eighteen milligrams", "a hundred and ten", "eighteen point five", "no units at all"])
def test_another_unit_a_figure_out_of_range_or_between_the_steps_is_no_value(said: str) -> None:
    assert understand_value("How many?", DOSE, said, Scripted({"units": 9.0}), TODAY).how is None


@pytest.mark.parametrize(
    ("unit", "said", "never"),
    [
        ("mL", "it's two litres", "2 mL"),
        ("units", "it says a hundred units per mil", "100 units"),
        ("mL", "i set two mil per hour", "2 mL"),
    ],
)
def test_a_unit_by_another_of_its_names_is_no_unit_asked_for(unit: str, said: str, never: str) -> None:
    """`Two litres` had been offered as 2 mL, and the strength on a label as a dose."""
    spec = NumberValue.model_validate({"type": "number", "unit": unit, "least": "1", "most": "300"})
    assert understand_value("How much?", spec, said, Scripted({never: 5.0}), TODAY).how is None


def test_two_figures_are_asked_about_whatever_the_reader_says() -> None:
    found = understand_value("How many?", DOSE, "eighteen no sixteen", Scripted({"16 units": 9.0}), TODAY)
    assert (found.value, found.how) == (None, "asked back")
    assert found.nearest is not None and found.nearest.text == "16"


def test_three_figures_as_a_meter_is_read() -> None:
    """`one seventy two` (common practice)."""
    glucose = NumberValue.model_validate({"type": "number", "unit": "mg/dL", "least": "20", "most": "600"})
    found = understand_value(
        "What does the meter show?", glucose, "one seventy two", Scripted({"172 mg/dL": 5.0}), TODAY
    )
    assert found.value is not None and found.value.text == "172"


def test_dates_and_choices() -> None:
    day = DateValue(type="date", earliest=-40, latest=0)
    opened = understand_value(
        "When was it opened?", day, "it says the fifth of november", Scripted({"2026-11-05": 5.0}), TODAY
    )
    assert opened.value is not None and opened.value.text == "2026-11-05"
    kind = ChoiceValue(type="choice", choices=("rapid acting", "long acting"))
    chosen = understand_value("Which kind?", kind, "the rapid one", Scripted({"rapid acting": 5.0}), TODAY)
    assert chosen.value is not None and chosen.value.text == "rapid acting"


def test_each_of_several_items_is_looked_at_by_itself() -> None:
    items = [Item("name", ("name matches",), ("different name",)), Item("birthday", ("it matches",), ("it differs",))]
    found = understand_items("Ask for both.", items, "both fine", Scripted({"agrees": 5.0}))
    assert [each.meaning for each in found] == ["agrees", "agrees"]
    assert [each.meaning for each in understand_items("Ask for both.", items, "yes", Scripted({"agrees": 5.0}))] == [
        None
    ] * 2


def test_the_taught_reader() -> None:
    """Sentences written beside the test, common practice of talk: what is said is taken, what is not is left."""
    reader, missing = open_reader_of_meanings("en-US")
    need(reader is not None, missing)
    assert understand(NAME, "yeah that's her", reader).meaning == "yes, it agrees"
    assert understand(NAME, "no that's somebody else's name", reader).meaning == "no, it does not agree"
    for other in ("hang on i'm still looking for her band", "can you hold this for me", "does a nickname count"):
        assert understand(NAME, other, reader).meaning is None, other
    assert NOT_YET in BESIDE
    dose = "How many units are ordered?"
    taken = understand_value(dose, DOSE, "it's eighteen units", reader, TODAY)
    assert taken.value is not None and taken.value.text == "18"
    for doubted in ("not eighteen", "yesterday it was eighteen", "did you say eighteen"):
        assert understand_value(dose, DOSE, doubted, reader, TODAY).value is None, doubted


def test_no_reader_in_another_language() -> None:
    assert open_reader_of_meanings("ko-KR") == (None, "")
