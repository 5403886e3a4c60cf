"""What was given: only what was said and confirmed. That a dose is never guessed is this project's own first rule."""

from collections.abc import Callable

import pytest

from companion.exports.medicine import administration
from companion.exports.source import Source
from companion.procedure.loading import load
from tests.exports.making import INSULIN, PROCEDURES, source, walked
from tests.procedures.walking import walk


@pytest.mark.parametrize(
    ("end", "given", "dose"),
    [
        ("insulin", "given", "18 units"),
        ("refused", "not given", None),
        ("partly given", "not known", None),
        ("open at the injection", "under way", None),
    ],
)
def test_a_dose_is_told_only_when_it_went_in(
    made: Callable[[str], Source], end: str, given: str, dose: str | None
) -> None:
    told = administration(made(end))
    assert told is not None
    assert (told.given, told.dose and told.dose.written()) == (given, dose)


@pytest.mark.parametrize("end", ["drill", "open"])
def test_nothing_is_told_before_its_time(made: Callable[[str], Source], end: str) -> None:
    assert administration(made(end)) is None


def test_why_it_was_not_given(made: Callable[[str], Source]) -> None:
    for end in ("refused", "partly given"):
        told = administration(made(end))
        assert told is not None and told.why == made(end).told.state.outcome != ""


def test_name_kind_and_site(made: Callable[[str], Source]) -> None:
    told = administration(made("insulin"))
    assert told is not None and told.site is not None
    assert (told.name, told.site.text, told.medicine.route) == ("Insulin, rapid acting", "left abdomen", "subcutaneous")


def test_a_dose_ordered_anew_is_the_one_that_counts(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The first figure is beyond what the prescriber is asked again for; the order is read anew."""
    loaded = load(PROCEDURES / "subcutaneous-insulin.yaml")
    script = {**INSULIN, "ordered-dose": ("sixty units", "eighteen units"), "large-ask": "order was changed"}
    walked_through = walk(loaded.procedure, script)
    assert "order-unclear" in walked_through.branches
    told = administration(source(walked(tmp_path_factory.mktemp("anew"), walked_through, loaded)))
    assert told is not None and told.dose is not None
    assert told.dose.written() == "18 units"


def test_the_pen_and_the_vaccine_tell_theirs(tmp_path_factory: pytest.TempPathFactory) -> None:
    for name, more, words in (
        ("insulin-pen", {}, "18 units"),
        (
            "vaccine-deltoid",
            {
                "ordered-vaccine": "influenza",
                "ordered-volume": "half a milliliter",
                "allergies": "never had any",
                "side": "left deltoid",
            },
            "0.5 mL",
        ),
    ):
        loaded = load(PROCEDURES / f"{name}.yaml")
        opened = "fourth of march twenty thirty"
        going = walk(loaded.procedure, {**INSULIN, "opened-on": opened, **more})
        told = administration(source(walked(tmp_path_factory.mktemp(name), going, loaded)))
        assert told is not None and told.dose is not None
        assert (told.given, told.dose.written()) == ("given", words)
