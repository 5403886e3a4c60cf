"""Every procedure of the library: walked to its end, held against its published facts, an emergency heard anywhere.

The facts and their sources stand in `facts/NAME.yaml`; a procedure without any is walked by what its file says alone.
"""

from decimal import Decimal

import pytest

from companion.procedure.due import is_due
from companion.procedure.kinds.worked_out import CheckStep
from tests.procedures.facts import Case, Setting, cases, facts
from tests.procedures.going import go
from tests.procedures.library import (
    NAMES,
    comes_before,
    critical,
    phrases_can_be_told_apart,
    procedure,
    says_why_and_by_whom,
)
from tests.procedures.walking import CHECKER, walk

WALKS = [case for name in NAMES for case in cases(name)]


@pytest.mark.parametrize("name", NAMES)
def test_it_says_why_and_by_whom_in_phrases_that_can_be_told_apart(name: str) -> None:
    says_why_and_by_whom(procedure(name))
    phrases_can_be_told_apart(procedure(name))


@pytest.mark.parametrize("name", NAMES)
def test_it_is_walked_to_the_signature(name: str) -> None:
    found, known = procedure(name), facts(name)
    going = walk(found, known.given)
    assert going.status == "finished"
    values = going.walker.state.values
    assert going.done == [step.id for step in found.steps if is_due(found, values, step)]
    assert known.not_due in ({step.id for step in found.steps} - set(going.done), set())
    assert {step: going.value(step) for step in known.values} == known.values
    if any(isinstance(step, CheckStep) for step in found.steps):
        assert going.walker.state.checker == CHECKER


def test_one_that_nobody_wrote_facts_of_is_walked_all_the_same() -> None:
    assert facts("a tenth").ends == {}
    assert walk(procedure("insulin-pen")).status == "finished"


@pytest.mark.parametrize(("name", "row"), [(name, row) for name in NAMES for row in facts(name).before])
def test_what_must_come_before_what(name: str, row: tuple[str, str, str]) -> None:
    first, then, source = row
    assert comes_before(procedure(name), first, then), source


@pytest.mark.parametrize("name", NAMES)
def test_what_a_record_would_not_forgive_is_critical(name: str) -> None:
    assert critical(procedure(name)) >= facts(name).critical


@pytest.mark.parametrize(("name", "row"), [(name, row) for name in NAMES for row in facts(name).settings])
def test_settings_hold_published_figures(name: str, row: Setting) -> None:
    setting, value, source, limits = row
    found = next(each for each in procedure(name).settings if each.id == setting)
    assert found.value == value, source
    for limit in limits.keys() & {"least", "most"}:
        assert Decimal(str(getattr(found, limit))) == Decimal(str(limits[limit])), source
    assert found.choices == tuple(limits.get("choices", found.choices)), source


@pytest.mark.parametrize("case", WALKS, ids=lambda case: f"{case.name}-{case.sentence}")
def test_a_walk_leads_where_it_should(case: Case) -> None:
    case.go()


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ("at dial", "`at dial` at `ready`"),
        ("to dial; not at dial", "`not at dial`"),
        ("hears every one of these words", "every one of"),
        ("not hears a | the | procedure", "`not hears"),
        ("asked dial, order", "`asked dial, order`"),
        ("end; abandoned", "finished"),
        ("leap to dial", "no such move"),
        ("not to dial", "no such move"),
    ],
)
def test_a_walk_that_does_not_lead_there_fails_and_says_where_it_stood(told: str, why: str) -> None:
    with pytest.raises(AssertionError) as caught:
        go(walk(procedure("insulin-pen"), facts("insulin-pen").given, to="ready"), told)
    assert why in str(caught.value)
