"""The partial order, against the standard library's own topological sorter."""

from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.procedure.loading import load
from companion.procedure.order import Violation, all_before, cycles, must_precede, violations

ROOT = Path(__file__).parents[2]
INSULIN = load(ROOT / "procedures" / "subcutaneous-insulin.yaml").procedure
NAMES = "abcdefg"
graphs = st.dictionaries(
    st.sampled_from(NAMES), st.dictionaries(st.sampled_from(NAMES), st.just("so"), max_size=3), max_size=7
).map(lambda graph: {name: graph.get(name, {}) for name in NAMES})


@given(graphs)
def test_cycles_are_found_exactly_where_graphlib_finds_one(graph: dict[str, dict[str, str]]) -> None:
    try:
        list(TopologicalSorter({name: list(needed) for name, needed in graph.items()}).static_order())
        ordered = True
    except CycleError:
        ordered = False
    found = cycles(graph)
    assert bool(found) is not ordered
    for chain in found:
        assert len(set(chain)) == len(chain)
        for name, needed in zip(chain, [*chain[1:], chain[0]], strict=True):
            assert name in graph[needed] or needed in graph[name]


@given(graphs)
def test_a_graphlib_order_breaks_nothing_and_its_reverse_breaks_every_link(graph: dict[str, dict[str, str]]) -> None:
    if cycles(graph):
        return
    order = list(TopologicalSorter({name: list(needed) for name, needed in graph.items()}).static_order())
    for place, name in enumerate(order):
        assert all_before(graph, name) <= set(order[:place])


def test_the_guided_order_of_the_insulin_procedure_breaks_nothing() -> None:
    assert violations(INSULIN, [step.id for step in INSULIN.steps]) == []


def test_backwards_every_link_is_broken_and_told_with_its_reason() -> None:
    steps = [step.id for step in INSULIN.steps]
    links = {(step, needed, why) for step in steps for needed, why in must_precede(INSULIN)[step].items()}
    found = violations(INSULIN, steps[::-1])
    assert {(each.step, each.needed, each.because) for each in found} == links
    assert all(each.late for each in found)


@pytest.mark.parametrize(
    ("sequence", "expected"),
    [
        (["draw-air"], {("draw-air", "syringe", False), ("draw-air", "double-check", False)}),
        (
            ["gloves", "hands-before-injecting"],
            {("gloves", "hands-before-injecting", True), ("hands-before-injecting", "needle-out", False)},
        ),
        (["watch-site", "sharps", "watch-site"], {("watch-site", "sharps", True), ("sharps", "withdraw", False)}),
        ([], set()),
    ],
)
def test_what_is_late_and_what_is_missing(sequence: list[str], expected: set[tuple[str, str, bool]]) -> None:
    """Common practice: gloves after hand hygiene (WHO 2009), nothing drawn up before the check (ISMP Canada 2019)."""
    assert {(each.step, each.needed, each.late) for each in violations(INSULIN, sequence)} == expected


def test_the_reason_is_the_file_s() -> None:
    found = violations(INSULIN, ["gloves", "hands-before-injecting", "needle-out"])
    assert found[0] == Violation("gloves", "hands-before-injecting", "gloves go on clean hands", late=True)


def test_a_step_that_does_not_exist() -> None:
    with pytest.raises(KeyError):
        violations(INSULIN, ["dance"])
