"""The turn of the site in a session: said at its step, noted once the medicine is in, else not."""

import subprocess
from pathlib import Path

import pytest

from companion.clocks import RealClock
from companion.errors import UsageError
from companion.procedure.loading import find, load
from companion.procedure.model import Procedure
from companion.sites.kept.books import own_books
from companion.sites.kept.turn_of_site import TurnOfSite
from tests.commands import KEYBOARD, companion
from tests.walk import Walker

TURNS = Path(__file__).parent.parent / "data" / "turns.yaml"
UNFIT = ("lump or bruise", "another place found")
GIVEN = ("soft and unmarked", "dose is in")


@pytest.fixture
def tag(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    return own_books(RealClock()).new()


def procedure() -> Procedure:
    return load(TURNS).procedure


def used(tag: str) -> list[str]:
    return [use.place for use in own_books(RealClock()).read(tag).history.uses()]


def _session(turn: TurnOfSite, *replies: str) -> tuple[str, ...]:
    """What is shown after a session with these replies."""
    walker = Walker(procedure(), notes=turn.notes())
    walker.replies("nine units", *replies)
    return tuple(turn.settle(walker.state))


def test_the_proposal_is_said_and_the_used_spot_noted_and_then_rested(tag: str) -> None:
    turn = TurnOfSite(procedure(), tag)
    first, second = turn.notes()[:2]
    assert first.step == "site" and first.text.startswith("Next in turn: ") and first.text != second.text
    assert _session(turn, "right abdomen", *GIVEN) == (f"Site noted under {tag}: right-abdomen/upper-5-1",)
    assert TurnOfSite(procedure(), tag).notes()[0].text != first.text


def test_after_a_place_that_is_not_fit_the_next_one_is_named_and_noted(tag: str) -> None:
    """Frid 2016: at least 1 cm away from where the lump is."""
    turn = TurnOfSite(procedure(), tag)
    shown = _session(turn, "right abdomen", *UNFIT, "right abdomen", *UNFIT, "right abdomen", *GIVEN)
    assert len(set(shown)) == 3
    for line in shown[:2]:
        assert "not fit" in line and f"companion site avoid {tag} right-abdomen/upper-" in line
    (place,) = used(tag)
    assert place.startswith("right-abdomen/upper-") and not any(place in line for line in shown[:2])


def test_in_another_zone_than_the_one_proposed_only_the_zone_is_noted(tag: str) -> None:
    """Which spot of it was used, nobody has said."""
    _session(TurnOfSite(procedure(), tag), "left thigh", *GIVEN)
    assert used(tag) == ["left-thigh"]


def test_a_history_that_has_changed_since_gives_the_zone_alone(tag: str) -> None:
    before = TurnOfSite(procedure(), tag)
    _session(TurnOfSite(procedure(), tag), "right abdomen", *GIVEN)
    walker = Walker(procedure(), notes=before.notes())
    walker.replies("nine units", "right abdomen", *UNFIT, "right abdomen", *GIVEN)
    assert list(TurnOfSite(procedure(), tag).settle(walker.state)) == [f"Site noted under {tag}: right-abdomen"]


def test_nothing_is_noted_unless_it_was_given(tag: str) -> None:
    (line,) = _session(TurnOfSite(procedure(), tag), "right abdomen")
    assert "no site was noted" in line
    assert used(tag) == []


@pytest.mark.parametrize("name", ["hand-hygiene", "vaccine-deltoid"])
def test_a_procedure_without_a_site_to_rotate_says_so(tag: str, name: str) -> None:
    """A vaccine goes into the muscle of the upper arm, once: nothing is rotated."""
    with pytest.raises(UsageError, match="has no site to rotate"):
        TurnOfSite(load(find(name)).procedure, tag)


@pytest.mark.parametrize("name", ["subcutaneous-insulin", "insulin-pen"])
def test_the_insulin_procedures_rotate(tag: str, name: str) -> None:
    found = load(find(name)).procedure
    assert found.step(TurnOfSite(found, tag).notes()[0].step)


def _companion(*words: str, typed: str) -> "subprocess.CompletedProcess[str]":
    return companion(*words, *KEYBOARD, typed=typed)


def test_a_session_that_was_broken_off_notes_its_site_when_it_is_resumed(tag: str, tmp_path: Path) -> None:
    begun = _companion(
        *("guide", str(TURNS), "--performer", "41", "--sites", tag),
        typed="9 units\nright abdomen\nlump or bruise\n",
    )
    again = begun.stderr.split("Go on with: companion ")[1].split()
    assert begun.returncode == 1 and again[0] == "resume" and again[-2:] == ["--sites", tag]
    (record,) = (tmp_path / "records").glob("*.jsonl")
    assert tag not in record.read_text(encoding="utf-8"), "the tag stands on the ward's paper only"
    asked = _companion("resume", str(record), typed="")
    assert "begun with a site history" in asked.stdout and "--sites TAG" in asked.stdout
    rest = "still valid\nanother place found\nright abdomen\nsoft and unmarked\ndose is in\n41\n"
    done = _companion(*again, typed=rest)
    assert done.returncode == 0, done.stdout + done.stderr
    (place,) = used(tag)
    assert f"Site noted under {tag}: {place}" in done.stdout
    assert place.startswith("right-abdomen/upper-") and place != "right-abdomen/upper-5-1", "that one had a lump"
