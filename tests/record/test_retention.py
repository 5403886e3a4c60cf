"""How long records are kept, and what goes when that time is over. Retention by days is common practice."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from companion import places
from companion.clocks import SimulatedClock
from companion.errors import RecordError, UsageError
from companion.record.keys import own_key
from companion.record.retention import retention_days, set_retention
from companion.record.verify import verify
from tests.commands import companion
from tests.record.making import written
from tests.record.test_purge import found_in

LONG_AGO = SimulatedClock(datetime(2001, 2, 3, tzinfo=UTC))


def test_days_are_kept_until_they_are_set_anew(tmp_path: Path) -> None:
    home = tmp_path / "home"
    assert retention_days(home) is None
    for days in (90, 7):
        set_retention(home, days)
        assert retention_days(home) == days
    assert [path.name for path in home.iterdir()] == ["retention-days"]
    set_retention(home, None)
    set_retention(home, None)
    assert retention_days(home) is None


@pytest.mark.parametrize("days", [0, -1, 36_501])
def test_days_that_make_no_sense_are_refused(tmp_path: Path, days: int) -> None:
    with pytest.raises(UsageError, match="1 to 36500 days are accepted"):
        set_retention(tmp_path, days)


@pytest.mark.parametrize("text", ["", "soon", "-3", "0", "7 days", "９"])
def test_a_setting_that_was_spoilt_purges_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / "retention-days").write_text(text, encoding="utf-8")
    with pytest.raises(RecordError, match="set it anew with"):
        retention_days(tmp_path)


def test_what_is_due_is_shown_and_then_goes_with_every_table_that_tells_of_it() -> None:
    own, folder = own_key(places.keys()), places.records()
    old, young = written(folder, 3, own, time=LONG_AGO).path, written(folder, 3, own).path
    beside = old.with_name(f"{old.name}.captions.vtt")
    table, young_table = folder / "all.steps.csv", young.with_name(f"{young.name}.steps.csv")
    for side in (beside, table, young_table):
        side.write_text("vial number 0 rolled", encoding="utf-8")

    refused = companion("record", "purge")
    assert (refused.returncode, refused.stdout) == (1, "")
    assert "companion record retention N" in refused.stderr and refused.stderr.count("\n") == 1

    assert "kept for 30 days" in companion("record", "retention", "30").stdout
    shown = companion("record", "purge", "--dry-run")
    assert shown.returncode == 0
    assert shown.stdout.splitlines() == [
        *(f"to be destroyed: {path}" for path in (old, beside, table)),
        f"{folder}: 1 record would be purged; nothing was",
    ]
    asked = companion("record", "purge", typed="n\n")
    assert asked.returncode == 1 and asked.stderr.endswith("companion: not confirmed; nothing was done\n")
    assert verify(old).state == "intact" and beside.exists() and table.exists()

    done = companion("record", "purge", typed="y\n")
    assert done.returncode == 0 and f"{table}: destroyed" in done.stdout
    assert (verify(old).state, verify(young).state) == ("purged", "intact")
    assert sorted(folder.iterdir()) == sorted([old, young, young_table])
    young_table.unlink()
    young.unlink()
    assert found_in(folder, ["vial number", "Hand rub"]) == []
    assert "nothing was purged" in companion("record", "purge").stdout
    assert "until they are purged one by one" in companion("record", "retention", "off").stdout


def test_a_reason_gives_no_details() -> None:
    path = written(places.records(), 3, own_key(places.keys())).path
    for reason, says in (
        ("Asked for", "no details"),
        ("asked for by 4711", "no details"),
        ("born in may", "--reason: held back: it looks like a date of birth"),
        ("margaret thompson", "--reason: held back: it looks like a name"),
        ("mrs quill asked me", "--reason: held back: it looks like a name"),
    ):
        done = companion("record", "purge", str(path), "--reason", reason, "--yes")
        assert done.returncode == 1 and says in done.stderr and done.stderr.count("\n") == 1
    assert verify(path).state == "intact"
