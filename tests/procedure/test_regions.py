"""Of each region of a procedure's values the proof tries one. The limits expected here were worked out by hand."""

from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.loading import load_text
from companion.procedure.proving.regions import Regions
from companion.speech.values import Value
from tests.walk import TODAY

LABEL = """
format: 1
id: label
title: Label
summary: For telling apart.
sources: [{id: own, title: "Made up for these tests"}]
steps:
  - {id: ordered, kind: reading, title: Ordered, say: Which one?, critical: yes, value: {type: choice,
      choices: [red, blue, green]}}
  - id: label
    kind: reading
    title: Label
    say: Which one is it?
    value: {type: choice, choices: [red, blue, green]}
    alerts: [{beside: ordered, branch: wrong}]
  - {id: rate, kind: reading, title: Rate, say: How fast?, critical: yes, value: {type: number, unit: mL,
      least: 1, most: 200}}
  - id: counted
    kind: reading
    title: Counted
    say: How fast is it?
    value: {type: number, unit: mL, least: 1, most: 200}
    alerts: [{beside: rate, above: 2, below: -2, percent: 10, branch: wrong}]
  - {id: sign, kind: signature, title: Sign, say: Sign with your tag., critical: yes}
branches:
  - id: wrong
    title: Wrong
    steps: [{id: tell, kind: action, title: Tell, say: Tell them., replies: [it was told]}]
    ends: {do: return, reason: It was told.}
"""


def _regions(step: str, beside: str, given: Value) -> set[str]:
    procedure = load_text(LABEL).procedure
    reading = procedure.step(step)
    assert isinstance(reading, ReadingStep)
    return {value.text for value in Regions(procedure, TODAY).values(step, reading.value, {beside: given})}


def test_a_choice_held_beside_another_is_tried_both_ways() -> None:
    found = _regions("label", "ordered", Value(type="choice", text="green"))
    assert len(found) == 2 and "green" in found


def test_a_figure_held_beside_another_is_tried_on_both_sides_of_each_limit() -> None:
    """A tenth of 100 is more than 2: under 90, over 110, and from 90 to 110, where the limits themselves belong."""
    low, between, high = sorted(
        int(text) for text in _regions("counted", "rate", Value(type="number", text="100", unit="mL"))
    )
    assert low < 90 <= between <= 110 < high
