"""The insulin procedure against published guidance.

Figures: WHO 2009 (rub 20-30 s), Frid 2016 (1 cm), USP 797 (28 days), NPSG.01.01.01 (two identifiers), ADA (70 mg/dL,
15 g, 15 min), ISO 8537 (U-40 and U-100 syringes); the rest is marked common practice in the file itself.
"""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from companion.dose.dates import DAYS_ONCE_OPENED
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.loading import load
from companion.procedure.order import all_before, must_precede
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import sites
from companion.speech.value_phrases import phrases_for
from tests.realparts import need

PROCEDURE = load(Path(__file__).parents[2] / "procedures" / "subcutaneous-insulin.yaml").procedure
SETTINGS = {setting.id: setting for setting in PROCEDURE.settings}


@pytest.mark.parametrize(
    ("setting", "value", "least", "most"),
    [
        ("identifiers", "2", 2, 3),  # NPSG.01.01.01; three in Australia (NSQHS 2017)
        ("rub-time", "20 s", 20, 30),  # WHO 2009
        ("days-once-opened", str(DAYS_ONCE_OPENED), None, None),  # USP 797: discarded 28 days after the first puncture
        ("low-glucose-limit", "70", None, None),  # ADA
        ("carbohydrate", "15", 15, 20),  # ADA
        ("recheck-time", "15 min", 600, 900),  # ADA 15 min; JBDS 01 10 to 15 min
        ("site-distance", "1", 1, 3),  # Frid 2016
        ("navel-distance", "5", 1, 5),  # sources differ: 1, 2 and 5 cm
        ("epinephrine", "0.5 mg", None, None),  # Resuscitation Council UK 2021, from memory
        ("epinephrine-repeat", "5 min", 300, 900),  # Resuscitation Council UK 2021; ACIP 5 to 15 min, from memory
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, least: int | None, most: int | None) -> None:
    assert SETTINGS[setting].value == value
    if least is not None and most is not None:
        assert (SETTINGS[setting].least, SETTINGS[setting].most) == (Decimal(least), Decimal(most))


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("hands-before-preparing", "wipe-stopper"),  # WHO 2009, moment 2
        ("hands-before-injecting", "gloves"),  # WHO toolkit: hand hygiene before gloves
        ("gloves-off", "hands-after"),  # WHO toolkit: and after glove removal
        ("wipe-stopper", "stopper-dry"),  # WHO toolkit
        ("stopper-dry", "inject-air"),
        ("volume", "double-check"),  # ISMP Canada 2019
        ("double-check", "draw-dose"),
        ("identify", "insert-needle"),  # NPSG.01.01.01
        ("identify-again", "insert-needle"),
        ("agreement", "insert-needle"),  # common practice
        ("allergies", "insert-needle"),  # common practice
        ("glucose", "insert-needle"),  # ADA
        ("site-fit", "insert-needle"),  # FIT UK 2016
        ("label-first", "draw-dose"),  # three checks, common practice
        ("draw-dose", "label-second"),
        ("label-second", "label-third"),
        ("drawn", "checker-sees"),  # ISMP Canada 2019
        ("glucose-age", "glucose"),  # ISMP 2017, from memory
        ("label-third", "insert-needle"),
        ("withdraw", "sharps"),  # WHO toolkit
        ("sharps", "hands-after"),  # WHO 2012: after needle disposal
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert first in all_before(must_precede(PROCEDURE), then)


def test_nothing_is_injected_before_all_that_must_come_first() -> None:
    """ISMP 2017, from memory, and ISMP Canada 2019: order, patient, glucose, label and both figures come first."""
    assert all_before(must_precede(PROCEDURE), "insert-needle") >= {
        "order", "last-dose", "ordered-kind", "ordered-dose", "identify", "agreement", "allergies", "glucose-age",
        "glucose", "low-signs", "meal", "label-first", "label-kind", "stock-strength", "expiry", "opened-on",
        "look-at-insulin", "syringe-scale", "volume", "double-check", "checker-kind", "syringe", "stopper-dry",
        "drawn", "checker-sees", "label-second", "identify-again", "label-third", "hands-before-injecting", "site",
        "site-fit",
    }  # fmt: skip


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, dose, checks, sterility, disposal, signature."""
    critical = {step.id for step in PROCEDURE.steps if step.critical}
    assert critical >= {
        "order", "last-dose", "ordered-kind", "ordered-dose", "identify", "allergies", "glucose", "stock-strength",
        "expiry", "opened-on", "label-kind", "syringe-scale", "volume", "double-check", "checker-kind", "drawn",
        "syringe", "wipe-stopper", "stopper-dry", "draw-dose", "label-first", "label-second", "label-third",
        "checker-sees", "identify-again", "site", "site-fit", "insert-needle", "inject", "sharps", "watch-site",
        "hands-after", "document", "sign",
    }  # fmt: skip


def test_every_step_of_the_guided_order_says_why_and_by_whom_it_is_published() -> None:
    for step in PROCEDURE.steps:
        assert step.sources, step.id
        assert step.reason, step.id
    cited = {source for step in PROCEDURE.all_steps() for source in step.sources}
    assert cited == {source.id for source in PROCEDURE.sources}


def phrases() -> set[str]:
    found = {phrase for site in sites(PROCEDURE) for _, replies, _ in said.own_replies(site) for phrase in replies}
    found |= {phrase for branch in PROCEDURE.branches for phrase in branch.heard}
    for step in PROCEDURE.steps:
        if isinstance(step, ReadingStep):
            found |= set(phrases_for(step.value, date(2030, 3, 4)))
    return found


def test_phrases_hold_only_words_that_the_embedded_model_knows() -> None:
    """CMUdict as it comes in the wheel of `pocketsphinx` (BSD)."""
    pocketsphinx = pytest.importorskip("pocketsphinx", reason="pip install pocketsphinx")
    lexicon = Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"
    need(lexicon.is_file(), f"the lexicon {lexicon.name} of the pocketsphinx wheel")
    known = {line.split()[0] for line in lexicon.read_text(encoding="utf-8").splitlines() if line}
    assert {word for phrase in phrases() for word in phrase.split()} <= known


def test_phrases_are_two_to_five_words_and_part_ways_early() -> None:
    """Phrases that differ only in their last word are hardest (arXiv 2602.08930, as read in the project's notes)."""
    for site in sites(PROCEDURE):
        meaning_of: dict[str, str] = {}
        for _, replies, meaning in said.own_replies(site):
            for phrase in replies:
                assert 2 <= len(phrase.split()) <= 5, phrase
                beginning = " ".join(phrase.split()[:-1]) or phrase
                group = meaning.split(" ")[0] if isinstance(site.step, IdentificationStep) else ""
                assert meaning_of.setdefault(group + beginning, meaning) == meaning, (site.step.id, phrase)
