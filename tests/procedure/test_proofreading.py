"""Rules that no file in `tests/data/broken.yaml` shows: one edit of tests/data/whole.yaml each, and what must be said.

Common practice of this format; where a rule follows a publication it is named beside the row.
"""

import pytest

from companion.errors import ProcedureError
from companion.procedure.loading import load_text
from tests.procedure.broken import WHOLE as FILE

WHOLE = FILE.read_text(encoding="utf-8")
RUB = "    at_least: $rub\n"
ENDS = "      do: abandon\n      reason: It could not go on.\n"
ALERT = "      - branch: halt\n        above: 50\n"
LOOK = "        replies: [lump is there]\n"
SIDE = "      choices: [left arm, right arm]\n"

ROWS = [
    (
        "    value: 20 s\n",
        "    value: 20 s\n    rehearsed: 30 s\n",
        "`30 s` is no choice of it; accepted: only with `choices`",
    ),
    (RUB, RUB + "    at_most: 10 s\n", "`at_most` (10 s) is less than `at_least` (20 s)"),
    (RUB, RUB + "    late: halt\n", "`late` names a branch and there is no `at_most`"),
    (RUB, RUB + "    since: look\n", "`since` names `look`, which comes later"),
    (RUB, RUB + "    since: rubbing\n", "`since` names the step itself"),
    (RUB, RUB + "    since: nowhere\n", "`since` names `nowhere`, which is no step"),
    (RUB, RUB + "    since: tell\n", "a step of the branch `halt`"),
    (ENDS, "      do: return\n      step: begin\n", "`step` has no meaning with `do: return`"),
    (ENDS, "      do: again\n      step: tell\n", "the step `tell` is no main step"),
    ("    heard: [called away]\n", "", "`at` limits where `heard` counts"),
    ("    at: [begin]", "    at: [start]", "the step `start` does not exist"),
    (SIDE, SIDE + "    alerts: [{branch: halt, is: [both arms]}]\n", "`both arms` is no choice here"),
    (ALERT, "      - branch: halt\n", "it never goes off"),
    (ALERT, "      - branch: halt\n        above: 60\n", "`above: 60` never goes off in the range 1 to 60"),
    (ALERT, "      - branch: halt\n        is: [many]\n", "`is` has no meaning for a number"),
    (ALERT, ALERT + "        kept: 28\n", "`kept` has no meaning for a number; accepted: with a date"),
    (ALERT, ALERT + "        once: yes\n", "`halt` does not come back, so nothing is confirmed there"),
    (SIDE, SIDE + "    alerts: [{branch: halt, beside: dose}]\n", "`beside` names `dose`, which gives no choice"),
    (SIDE, SIDE + "    alerts: [{branch: halt, beside: side}]\n", "`beside` names `side`, which is given later"),
    (SIDE, SIDE + "    alerts: [{branch: halt, beside: side, is: [left arm]}]\n", "`is` has no meaning with `beside`"),
    (
        LOOK,
        LOOK + "    unless: [{branch: halt, of: dose, above: 5, replies: [lump is there]}]\n",
        "`lump is there` is no answer that confirms this step",
    ),
    (LOOK, LOOK + '    unless: [{branch: halt, of: dose, above: 5, because: "The {none} is high."}]\n', "`{none}`"),
    (LOOK, LOOK + "    unless: [{branch: halt, of: dose, above: 5, replies: [soft and clear]}]\n", "OK"),
    (ALERT, ALERT + "        beside: nothing\n", "`beside` names `nothing`, which is no step"),
    (ALERT, ALERT + "        beside: side\n", "`beside` names `side`, which gives no number"),
    (ALERT, ALERT + "        beside: volume\n", "`beside` names `volume`, in mL, and the value is in units"),
    (ALERT, ALERT + "        percent: 10\n", "`percent` is a share of the figure that a value stands beside"),
    (ALERT, ALERT + "        beside: dose\n", "`beside` names `dose`, which is given later"),
    (LOOK, LOOK + "    unless: [{branch: halt, of: dose}]\n", "it never holds"),
    (LOOK, LOOK + "    unless: [{branch: halt, of: side, above: 5}]\n", "accepted: `is`, `left arm`, `right arm`"),
    (LOOK, LOOK + "    unless: [{branch: halt, of: side, is: [left arm]}]\n", "OK"),
    (
        LOOK,
        LOOK + "    unless: [{branch: halt, of: sign, above: 5}]\n",
        "`of` names `sign`, which gives no number or choice",
    ),
    (LOOK, LOOK + "    unless: [{branch: halt, of: dose, above: 5}]\n", "OK"),
    (SIDE, SIDE + "    when: {of: dose, above: 20}\n", "OK"),
    (SIDE, SIDE + "    when: {of: rub, above: 20}\n", "OK"),
    (SIDE, SIDE + "    when: {of: nothing, above: 20}\n", "`of` names `nothing`, which is no setting"),
    (SIDE, SIDE + "    when: {of: look, above: 20}\n", "`of` names `look`, which is no setting"),
    (SIDE, SIDE + "    when: {of: dose}\n", "it never holds"),
    (SIDE, SIDE + "    when: {of: rub}\n", "a `when` has either `is`, or `below`, `above` or both"),
    (SIDE, SIDE + "    when: {of: rub, is: [20 s]}\n", "the setting `rub` has no `choices`"),
    (LOOK, LOOK + "    when: {of: side, is: [left arm]}\n", "OK"),
    (LOOK, LOOK + "    when: {of: side, is: [both arms]}\n", "`both arms` is no choice there"),
    (LOOK, LOOK + "    when: {of: side, is: [left arm, right arm]}\n", "it always holds"),
    ("    say: Sign with your tag.\n", "    say: Sign with your tag.\n    when: {of: dose, above: 5}\n", "always due"),
    ("    of: volume\n", "    of: volume\n    when: {of: dose, above: 5}\n", "OK"),
    ("    of: volume\n", "    of: volume\n    when: {of: volume, above: 0.5}\n", "its figure might stay sealed"),
    (
        "    formula: volume\n",
        "    formula: volume\n    when: {of: dose, above: 5}\n",
        "`volume`, which is not always",
    ),
    (
        "    title: Strength\n",
        "    title: Strength\n    when: {of: dose, above: 5}\n",
        "`strength`, which is not always",
    ),
    (LOOK, LOOK + "    unless: [{branch: stop, of: dose, above: 5}]\n", "the branch `stop` does not exist"),
    (
        LOOK,
        LOOK + "    settled: [{branches: [halt], replies: [it was told]}]\n",
        "`halt` is not one that this step leads",
    ),
    ("formula: volume", "formula: magic", "there is no formula `magic`"),
    ("      required: dose\n", "      required: dose\n      drops: dose\n", "`drops` is no term of the formula"),
    ("      required: dose\n", "      required: side\n", "`side`, which gives no number"),
    ("      required: dose\n", "      required: rub\n", "the setting `rub`"),
    ("      unit: mL\n", "      unit: L\n", "`volume` gives mL, and `unit` is `L`"),
    ("      unit: units\n", "      unit: mg\n", "no factor turns one into the other"),
    ("      unit: units\n", "      unit: spoons\n", "`spoons` is not a unit that can be said"),
    ("    most: 30\n", "    most: 10\n", "the range runs backwards: least 20, most 10"),
    (
        "    value: 2\n    least: 1\n    most: 2\n",
        "    value: 2\n    choices: [1, 3]\n",
        "the value is `2`; accepted: `1`, `3`",
    ),
    ("      - id: birth\n", "      - id: name\n", "the id `name` is already that of an item"),
    ("say: Compare the details.", "say: Compare the {dose}.", "spoken where the value may not have been given yet"),
    ("say: What does the label say?", "say: The label says {volume}.", "`{volume}`"),
    ("say: Which side?", "say: Which side, for {volume}?", "OK"),
    ("say: Tell the person in charge.", "say: Tell them of {dose}.", "may not have been given yet"),
    ("summary: Every", "summary: For {dose}, every", "`{dose}` is no setting; accepted here: `names`, `rub`"),
    ("heard: [called away]", "heard: [repeat]", "`repeat` is one of the program's own phrases"),
    ("    title: Side\n", "    title: Which side, left arm or left leg?\n", "`title` offers `left leg`"),  # no `short`
    ("say: Which side?", "say: Which side? Left arm, or right arm?", "OK"),
    ("say: Which side?", "say: Which side? Sound or sore?", "`say` offers `sound`, which is no reply there"),
    ("say: Which side?", "say: Which side? Is it sound, or is it sore after the last one?", "OK"),
    ("say: Which side?", "say: Which side? You can say left arm.", "OK"),
    # Whoever is in danger is helped first, whatever is being asked
    ("    at: [begin]\n", "    at: [begin]\n    emergency: yes\n", "an emergency counts at any moment"),
    ("    heard: [called away]\n    at: [begin]\n", "    emergency: yes\n", "an emergency has to be told"),
    ("    heard: [called away]\n    at: [begin]\n", "    heard: [called away]\n    emergency: yes\n", "OK"),
    ("    heard: [called away]\n    at: [begin]\n", "    heard: [that is wrong]\n", "one of the program's own phrases"),
    # Degani and Wiener 1993: the reply carries content; for a reading it is the value that is read back
    (
        "    say: Which side?",
        "    say: Which side?\n    critical: true\n    read_back: no",
        "a critical reading is read back",
    ),
    ("    replies: [tray is complete]\n", "    replies: [all is done]\n", "`all is done` says too little"),
    ("    replies: [tray is complete]\n", "    replies: [done]\n    read_back: yes\n", "OK"),
    # ISMP Canada 2019: no hint of a figure before both are in
    ("    say: How much is that?", "    say: How much is that?\n    hint: Is it {volume}?", "`{volume}`"),
    ("    of: volume\n", "    of: dose\n", "`of` names `dose`, which is not critical and may be left out"),
    ("    of: volume\n", "    of: who\n", "which is an identification; accepted: the id of a calculation or reading"),
    (LOOK, LOOK + "    every: {time: 5 min, say: Once more.}\n", "OK"),
    (LOOK, LOOK + "    every: {time: 5 min, say: Once more., most: 3}\n", "`most` stands without `then`"),
    (LOOK, LOOK + "    every: {time: 5 min, say: Once more., most: 3, then: no}\n", "the branch `no` does not exist"),
    (LOOK, LOOK + "    every: {time: 5 min, say: 'Soft and clear, or hard?'}\n", "`say` offers `hard`"),
    ("    title: Halt\n", "    title: Halt\n    most: 2\n", "`most` stands without `then`"),
    ("    title: Halt\n", "    title: Halt\n    most: 2\n    then: halt\n", "`then` names `halt`, which is no branch"),
    ("      least: 1\n      most: 60\n", "      among: [10, 20, 60]\n", "OK"),
    ("      least: 1\n      most: 60\n", "      among: [10, 10]\n", "names a figure twice"),
    ("      least: 1\n      most: 60\n", "      least: 1\n      most: 60\n      among: [10]\n", "beside a range"),
    ("    of: volume\n", "    of: nothing\n", "`of` names `nothing`, which is no step"),
]


@pytest.mark.parametrize(("old", "new", "words"), ROWS, ids=range(len(ROWS)))
def test_one_edit(old: str, new: str, words: str) -> None:
    assert WHOLE.count(old) == 1
    text = WHOLE.replace(old, new)
    if words == "OK":
        load_text(text)
        return
    with pytest.raises(ProcedureError) as caught:
        load_text(text)
    assert any(words in fault for fault in caught.value.faults), caught.value.faults


def test_a_calculation_is_checked_once() -> None:
    check = WHOLE[WHOLE.index("  - id: second\n") : WHOLE.index("  - id: side\n")]
    again = check.replace("id: second", "id: third")
    with pytest.raises(ProcedureError, match="`second` already checks `volume`"):
        load_text(WHOLE.replace(check, check + again))


def test_two_branches_may_share_a_phrase_only_at_different_steps() -> None:
    halt = WHOLE[WHOLE.index("  - id: halt\n") :]
    other = halt.replace("id: halt", "id: other").replace("id: tell", "id: tell-other")
    load_text(WHOLE + other.replace("at: [begin]", "at: [side]"))
    with pytest.raises(ProcedureError, match="`called away` would mean two things at step `begin`"):
        load_text(WHOLE + other)
