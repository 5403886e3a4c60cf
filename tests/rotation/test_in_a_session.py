"""The turn of the site in a session: said at its step, noted once the medicine is in, else not."""

from pathlib import Path

import pytest

from companion.cli.turn_of_site import TurnOfSite
from companion.clocks import RealClock
from companion.core.sites.zones import zone_named
from companion.core.state import Done, State
from companion.core.values import Value
from companion.errors import UsageError
from companion.loading import find, load
from companion.rotation.books import own_books

INSULIN = load(find("subcutaneous-insulin")).procedure


@pytest.fixture
def tag(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    return own_books(RealClock()).new()


def _state(*done: str, chosen: str = "right abdomen") -> State:
    entries = tuple(Done(step, None, "", 0) for step in done)
    return State(values={"site": Value(type="choice", text=chosen)}, done=entries)


def test_the_proposal_is_said_and_the_used_spot_noted_and_then_rested(tag: str) -> None:
    turn = TurnOfSite(INSULIN, tag)
    (note,) = turn.notes()
    assert note.step == "site" and note.text.startswith("Next in turn: ")
    assert turn.settle(_state("site", "inject")).startswith(f"Site noted under {tag}")
    (again,) = TurnOfSite(INSULIN, tag).notes()
    assert again.text != note.text


def test_in_another_zone_than_the_one_proposed_only_the_zone_is_noted(tag: str) -> None:
    """Which spot of it was used, nobody has said."""
    TurnOfSite(INSULIN, tag).settle(_state("site", "inject", chosen="left thigh"))
    (use,) = own_books(RealClock()).read(tag).history.uses()
    assert use.place == zone_named("left thigh").code  # type: ignore[union-attr]


def test_nothing_is_noted_unless_it_was_given(tag: str) -> None:
    assert "no site was noted" in TurnOfSite(INSULIN, tag).settle(_state("site"))
    assert not own_books(RealClock()).read(tag).history.uses()


def test_a_procedure_without_a_site_says_so(tag: str) -> None:
    with pytest.raises(UsageError, match="has no site to rotate"):
        TurnOfSite(load(find("hand-hygiene")).procedure, tag)
