"""Rules that must always hold: proved, or the shortest way on which they are broken is told.

The counts and ways expected here were found by hand from the procedures' text.
"""

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.procedure.kinds.base import Meaning
from companion.procedure.loading import load_text
from companion.procedure.proving import MOST_STATES, Proof, prove
from companion.procedure.proving.watching import watch
from tests.walk import Walker

DATA = Path(__file__).parent.parent / "data"
PRICK = (DATA / "prick.yaml").read_text(encoding="utf-8")

TWO_STEPS = """
format: 1
id: two
title: Two steps
summary: For counting.
sources: [{id: own, title: "Made up for these tests"}]
steps:
  - {id: do-it, kind: action, title: Do it, say: Do it now., replies: [it was done], critical: yes}
  - {id: sign, kind: signature, title: Sign, say: Sign with your tag., critical: yes}
always:
  - {kind: never ends without, after: do-it, needs: [sign], because: "Whoever did it signs."}
"""


def _proof(text: str, most: int = MOST_STATES) -> Proof:
    return prove(load_text(text).procedure, most)


def _changed(old: str, new: str) -> str:
    assert PRICK.count(old) == 1
    return PRICK.replace(old, new)


def test_the_states_of_two_steps_counted_by_hand() -> None:
    """At the first step: asked, held, asked whether to end. At the second also asked whether the first still stands."""
    assert _proof(TWO_STEPS) == Proof(3 + 4, ())


def test_the_rules_of_a_sound_procedure_are_proved() -> None:
    assert _proof(PRICK).unproved == ()


def test_a_branch_that_ends_without_the_sharps_is_found_and_told() -> None:
    safe = "      - {id: safe, kind: action, title: Make safe, say: Put sharps away., replies: [sharps are safe], "
    without = _changed(safe + "critical: yes}\n", "")
    without = without.replace("[sharps, safe, used-away]", "[sharps, used-away]")
    (unproved,) = _proof(without).unproved
    assert unproved.fault.path == ("always", 1)
    assert unproved.fault.message == (
        "it does not hold that after `prick` the session never ends without (`sharps` or `used-away`) and "
        "(`document` or `report` or `step-away`); it is broken like this"
    )
    assert unproved.way == (
        'at `identify`: "name agrees"',
        'at `allergies`: "no known allergy"',
        'at `prick`: "prick is done"',
        'at `press`: "call the team"',
        'at `call`: "team is called"',
        'at `report`: "it is reported"',
        "broken: the session ends (the team takes over), and `sharps` or `used-away` was not confirmed after `prick`.",
    )


def test_a_step_that_need_not_be_done_is_found() -> None:
    """Put off the critical list, the lancet may be left lying."""
    lax = _changed("replies: [lancet is away], critical: yes", "replies: [lancet is away]")
    (unproved,) = _proof(lax).unproved
    assert 'at `sharps`: "leave it out"' in unproved.way


def test_steps_in_the_wrong_order_are_found() -> None:
    prick = "  - {id: prick, kind: action, title: Prick, say: Prick now., replies: [prick is done], critical: yes}\n"
    swapped = _changed(prick, "").replace("  - id: allergies\n    kind", prick + "  - id: allergies\n    kind")
    unproved = _proof(swapped).unproved[0]
    assert unproved.fault.path == ("always", 0)
    assert unproved.way == (
        'at `identify`: "name agrees"',
        'at `prick`: "prick is done"',
        "broken: `prick` is confirmed, and `allergies` does not stand confirmed.",
    )


def test_a_wait_that_comes_too_late_is_walked_as_well() -> None:
    """Only a wait that lasted too long leads there."""
    without = _changed("ends: {do: again, step: prick}", "ends: {do: abandon, reason: too late}")
    (unproved,) = _proof(without).unproved
    assert unproved.way[3:] == (
        "at `press`: 31 seconds go by",
        "at `press`: 1 minute 30 seconds go by",
        'at `press`: "bleeding has ended"',
        'at `used-away`: "old one is away"',
        "broken: the session ends (too late), and `document` or `report` or `step-away` was not confirmed after "
        "`prick`.",
    )


def test_what_a_branch_leads_back_before_was_done_all_the_same() -> None:
    """Pressed too long, it is pricked anew; found to be allergic then, somebody who was pricked is left unrecorded."""
    rule = _changed("report, step-away]]", "report]]")
    (unproved,) = _proof(rule).unproved
    assert unproved.way[-4:-1] == (
        'at `prick`: "go back"',
        'at `allergies`: "there is one"',
        'at `step-away`: "reason is written"',
    )
    assert 'at `used-away`: "old one is away"' in unproved.way


def test_a_branch_left_for_good_by_another_branch_is_found() -> None:
    (unproved,) = _proof(_changed("[[lay, call]]", "[lay]")).unproved
    assert unproved.way == (
        'at `identify`: "name agrees"',
        'at `allergies`: "fainting now"',
        'at `lay`: "call the team"',
        'at `call`: "team is called"',
        'at `safe`: "sharps are safe"',
        'at `report`: "it is reported"',
        "broken: the branch `faint` is left, the session ends (the team takes over), and `lay` was not confirmed in "
        "it.",
    )


def test_a_branch_that_is_not_heard_at_the_wait_is_found() -> None:
    """Whoever is held is not heard either, once `at` limits where the word counts; that is nearer than the wait."""
    steps = "identify, allergies, prick, sharps, document, sign, step-away, used-away, lay, awake, call, safe, report"
    at = f"    at: [{steps}]\n"
    limited = _changed("    heard: [call the team]\n", "    heard: [call the team]\n" + at)
    (unproved,) = _proof(limited).unproved
    assert unproved.fault.path == ("always", 3)
    assert unproved.way == (
        'at `identify`: "pause"',
        "broken: nothing that may be said at `identify` (held) now enters the branch `emergency`.",
    )


def test_what_is_done_before_a_branch_does_not_count_in_it() -> None:
    rule = "\n  - {kind: never left without, branch: emergency, needs: [sharps], because: Made up.}\n"
    (unproved,) = _proof(PRICK.rstrip() + rule).unproved
    assert unproved.way[0] == 'at `identify`: "call the team"'


def test_a_rule_about_what_never_happens_is_a_fault() -> None:
    """Nothing leads into the branch but itself, so its step is never confirmed."""
    lonely = """  - id: lonely
    title: Nobody comes here
    heard: [nobody is here]
    at: [alone]
    steps:
      - {id: alone, kind: action, title: Alone, say: Wait alone., replies: [still alone], critical: yes}
    ends: {do: return}
always:
"""
    rule = "\n  - {kind: never without, step: alone, needs: [identify], because: Made up.}\n"
    (unproved,) = _proof(PRICK.replace("always:\n", lonely).rstrip() + rule).unproved
    assert (
        unproved.fault.message == "`alone` can never be confirmed, so the rule says nothing; accepted: what can happen"
    )


def test_more_states_than_allowed_are_said_to_be_unproved() -> None:
    (unproved,) = _proof(PRICK, most=20).unproved
    assert unproved.fault.path == ("always",)
    assert unproved.fault.message == (
        "the rules are not proved, since there are more than 20 states; give `at` to branches that are heard "
        "everywhere (`emergency`), or split the procedure"
    )


TWO_CLOCKS = """
format: 1
id: clocks
title: Two clocks
summary: A branch waits longer than the main steps do; a made-up exercise that teaches nothing clinical.
sources: [{id: own, title: "Made up for these tests"}]
steps:
  - id: colour
    kind: reading
    title: Colour
    say: Which colour?
    value: {type: choice, choices: [red, blue]}
    critical: yes
  - {id: paint, kind: action, title: Paint, say: Paint it., replies: [it is painted], critical: yes}
  - {id: dry, kind: wait, title: Dry, say: Let it dry., since: paint, at_least: 1 min, replies: [it is dry]}
  - id: note
    kind: action
    title: Note
    say: Note it.
    replies: [it is noted]
    critical: yes
    when: {of: colour, is: [red]}
  - {id: sign, kind: signature, title: Sign, say: Sign with your tag., critical: yes}
branches:
  - id: spilt
    title: Spilt
    heard: [it was spilt]
    steps:
      - {id: air, kind: wait, title: Air, say: Open it., at_least: 3 min, replies: [air is fresh], critical: yes}
      - {id: wiped, kind: action, title: Wipe, say: Wipe it., replies: [wiped up], critical: yes}
    ends: {do: abandon, reason: it was spilt}
always:
"""

_HEARD, _HEARD_LATE = "heard: [it was spilt]\n", "heard: [it was spilt]\n    at: [dry]\n"


def test_a_clock_of_the_branch_runs_out_after_one_of_the_steps_around_it() -> None:
    """That the other runs out changes nothing in the branch, and what comes after the longer wait is reached."""
    rule = "  - {kind: never without, step: wiped, needs: [sign], because: Made up.}\n"
    (unproved,) = _proof((TWO_CLOCKS + rule).replace(_HEARD, _HEARD_LATE)).unproved
    assert 'at `wiped`: "wiped up"' in unproved.way


def test_what_decides_that_a_deed_is_due_is_told_apart_in_a_branch_that_does_not_read_it() -> None:
    """Red is to be noted; blue, which is said first, is not."""
    first_blue = TWO_CLOCKS.replace("[red, blue]", "[blue, red]")
    rule = "  - {kind: never ends without, after: wiped, needs: [note], because: Made up.}\n"
    for text in (TWO_CLOCKS + rule, first_blue + rule):
        (unproved,) = _proof(text.replace(_HEARD, _HEARD_LATE)).unproved
        assert 'at `colour`: "red"' in unproved.way


def test_rounds_without_a_last_one_come_to_an_end() -> None:
    """A time that runs again and again until the answer: one round is like the other."""
    again = "replies: [wiped up], critical: yes, every: {time: 5 min, say: Wipe it again.}}"
    text = TWO_CLOCKS.replace("replies: [wiped up], critical: yes}", again)
    rule = "  - {kind: never without, step: sign, needs: [paint], because: Made up.}\n"
    assert _proof(text + rule, most=2000).unproved == ()


LONG = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


@LONG
@given(st.data())
def test_no_session_at_random_breaks_a_rule_that_was_proved(data: st.DataObject) -> None:
    procedure = load_text(PRICK).procedure
    walker = Walker(procedure)
    memory = [None for _ in procedure.always]
    take = walker.take

    def watching(event: object) -> None:
        old = walker.state
        take(event)  # type: ignore[arg-type]
        for number, rule in enumerate(procedure.always):
            memory[number], broken = watch(procedure, rule, memory[number], old, walker.state)  # type: ignore[call-overload]
            assert broken is None, (number, walker.events)

    walker.take = watching  # type: ignore[method-assign]
    for _ in range(60):
        if walker.state.ended:
            return
        kind = data.draw(st.sampled_from(("reply",) * 6 + ("wait", "crash")))
        if kind == "reply":
            allowed = walker.machine.allowed(walker.state)
            few = [phrase for phrase, meaning in allowed.items() if _of_use(meaning)]
            walker.reply(data.draw(st.sampled_from(few)), data.draw(st.integers(0, 30_000)))
        elif kind == "wait":
            walker.wait(data.draw(st.integers(1, 150)))
        else:
            walker.interrupt()


def _of_use(meaning: Meaning) -> bool:
    return meaning.value is None or meaning.value.text == "41"
